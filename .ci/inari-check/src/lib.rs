//! Nothing but its test: `cd .ci/inari-check && cargo test`.
