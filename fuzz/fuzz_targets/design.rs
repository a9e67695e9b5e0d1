//! No bytes make the reader of design files panic, and every message can be shown.
#![no_main]

use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let shown = match unloop::design::read("fuzz.toml", bytes) {
        Ok((design, warnings)) => design.render(&warnings, true),
        Err(rejected) => rejected.render(false),
    };
    std::hint::black_box(shown);
});
