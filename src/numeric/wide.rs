//! The same loop, compiled for the processor at hand.

/// A loop that is worth compiling for more than one processor.
pub trait Work {
    /// Does it. Mark it `#[inline(always)]`, and all that it calls: what is not inlined is compiled for any processor
    /// only, which takes twice the time.
    fn run(self);
}

/// A closure is inlined as the compiler sees fit: it serves where the loop has one caller.
impl<F: FnOnce()> Work for F {
    #[inline(always)]
    fn run(self) {
        self();
    }
}

/// Runs `work` compiled for AVX2 where the processor has it, else as it is.
///
/// Nothing is fused, so that both give the same bits. This is the one place with `unsafe` in the crate.
#[inline]
pub fn widely(work: impl Work) {
    #[cfg(target_arch = "x86_64")]
    if std::arch::is_x86_feature_detected!("avx2") {
        #[allow(unsafe_code, reason = "the processor was just asked whether it has AVX2")]
        return unsafe { with_avx2(work) };
    }
    work.run();
}

#[cfg(target_arch = "x86_64")]
#[target_feature(enable = "avx2")]
fn with_avx2(work: impl Work) {
    work.run();
}
