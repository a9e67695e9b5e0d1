//! The same loop, compiled for the processor at hand.

/// Runs `work` compiled for AVX2 where the processor has it, else as it is.
///
/// `work` must be a closure around `#[inline(always)]` code, or nothing is gained. Nothing is fused, so that both give
/// the same bits. This is the one place with `unsafe` in the crate.
#[inline(always)]
pub fn widely<R>(work: impl FnOnce() -> R) -> R {
    #[cfg(target_arch = "x86_64")]
    if std::arch::is_x86_feature_detected!("avx2") {
        #[allow(unsafe_code, reason = "the processor was just asked whether it has AVX2")]
        return unsafe { with_avx2(work) };
    }
    work()
}

#[cfg(target_arch = "x86_64")]
#[target_feature(enable = "avx2")]
fn with_avx2<R>(work: impl FnOnce() -> R) -> R {
    work()
}
