//! Points that fill a cube evenly: Sobol' sequences, each replicate shifted by a random amount of its own.
//!
//! A shifted sequence is unbiased, and the spread between replicates is an honest error bar; the same seed gives the
//! same points whatever the number of threads.
//!
//! # Source
//! S. Joe and F. Y. Kuo, Constructing Sobol sequences with better two-dimensional projections, SIAM J. Sci. Comput. 30
//! (2008) 2635–2654, first rows of their table (from memory, checked against a general-purpose library's points in the
//! tests). Shift modulo 2 as in C. Lemieux, Monte Carlo and Quasi-Monte Carlo Sampling (2009), sec. 6.2.

/// Most variables that a point may have.
pub const MOST_VARIABLES: usize = 10;

const BITS: usize = 32;

/// Degree of the primitive polynomial, its inner coefficients, and the first direction numbers.
const ROWS: [(usize, u32, [u32; 5]); MOST_VARIABLES - 1] = [
    (1, 0, [1, 0, 0, 0, 0]),
    (2, 1, [1, 3, 0, 0, 0]),
    (3, 1, [1, 3, 1, 0, 0]),
    (3, 2, [1, 1, 1, 0, 0]),
    (4, 1, [1, 1, 3, 3, 0]),
    (4, 4, [1, 3, 5, 13, 0]),
    (5, 2, [1, 1, 5, 5, 17]),
    (5, 4, [1, 1, 5, 5, 5]),
    (5, 7, [1, 1, 7, 11, 19]),
];

/// A Sobol' sequence with its shift.
#[derive(Clone, Debug)]
pub struct Sequence {
    directions: [[u32; BITS]; MOST_VARIABLES],
    shift: [u32; MOST_VARIABLES],
}

impl Sequence {
    /// The sequence as published, without a shift.
    #[must_use]
    pub fn plain() -> Self {
        let mut directions = [[0; BITS]; MOST_VARIABLES];
        for (variable, numbers) in directions.iter_mut().enumerate() {
            *numbers = match variable.checked_sub(1).and_then(|row| ROWS.get(row)) {
                Some(row) => direction_numbers(row),
                None => std::array::from_fn(|bit| 1 << (BITS - 1 - bit)),
            };
        }
        Self { directions, shift: [0; MOST_VARIABLES] }
    }

    /// Replicate number `replicate` for `seed`.
    #[must_use]
    pub fn replicate(seed: u64, replicate: u32) -> Self {
        let mut state = seed ^ (u64::from(replicate) + 1).wrapping_mul(0xA076_1D64_78BD_642F);
        let shift = std::array::from_fn(|_| upper_half(next_random(&mut state)));
        Self { shift, ..Self::plain() }
    }

    /// Calls `take` with the points number `from` to `from + count`, each coordinate in (0, 1).
    pub fn points(&self, from: u32, count: u32, mut take: impl FnMut(&[f64; MOST_VARIABLES])) {
        let mut state = self.at(from);
        for index in from..from.saturating_add(count) {
            let mut point = [0.0; MOST_VARIABLES];
            for ((slot, x), shift) in point.iter_mut().zip(&state).zip(&self.shift) {
                *slot = (f64::from(x ^ shift) + 0.5) / 4_294_967_296.0;
            }
            take(&point);
            let bit = (!index).trailing_zeros() as usize;
            for (x, numbers) in state.iter_mut().zip(&self.directions) {
                *x ^= numbers.get(bit).copied().unwrap_or(0);
            }
        }
    }

    /// The same with `variables` coordinates: those past [`MOST_VARIABLES`] are random numbers, which fill less evenly and
    /// are as unbiased.
    pub fn wide_points(
        &self,
        from: u32,
        count: u32,
        variables: usize,
        mut take: impl FnMut(&[f64]),
    ) {
        let [first, second, ..] = self.shift;
        let (mut index, mut wide) = (u64::from(from), vec![0.0; variables]);
        self.points(from, count, |point| {
            let mut state = (u64::from(first) << 32 | u64::from(second)) ^ index << 16;
            // The first number of neighbouring states is thrown away with what they share.
            state = next_random(&mut state);
            let random = std::iter::repeat_with(|| {
                (f64::from(upper_half(next_random(&mut state))) + 0.5) / 4_294_967_296.0
            });
            let numbers = point.iter().copied().chain(random);
            wide.iter_mut().zip(numbers).for_each(|(slot, x)| *slot = x);
            index += 1;
            take(&wide);
        });
    }

    /// The unshifted integers of point `index`: the direction numbers of its Gray code.
    fn at(&self, index: u32) -> [u32; MOST_VARIABLES] {
        let gray = index ^ (index >> 1);
        self.directions.map(|numbers| {
            let set = numbers.iter().enumerate().filter(|(bit, _)| gray >> bit & 1 == 1);
            set.fold(0, |x, (_, number)| x ^ number)
        })
    }
}

#[allow(clippy::indexing_slicing, reason = "every index stays below the number of bits")]
fn direction_numbers(&(degree, coefficients, first): &(usize, u32, [u32; 5])) -> [u32; BITS] {
    let mut numbers = [0; BITS];
    for bit in 0..BITS {
        numbers[bit] = if bit < degree {
            first[bit] << (BITS - 1 - bit)
        } else {
            let mut number = numbers[bit - degree] ^ (numbers[bit - degree] >> degree);
            for k in 1..degree {
                if coefficients >> (degree - 1 - k) & 1 == 1 {
                    number ^= numbers[bit - k];
                }
            }
            number
        };
    }
    numbers
}

fn upper_half(x: u64) -> u32 {
    u32::try_from(x >> 32).unwrap_or(u32::MAX)
}

/// The next 64 random bits.
///
/// # Source
/// G. L. Steele, D. Lea and C. H. Flood, Fast splittable pseudorandom number generators, OOPSLA 2014 (SplitMix64).
fn next_random(state: &mut u64) -> u64 {
    *state = state.wrapping_add(0x9E37_79B9_7F4A_7C15);
    let mut z = *state;
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^ (z >> 31)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn collect(sequence: &Sequence, from: u32, count: u32) -> Vec<[f64; MOST_VARIABLES]> {
        let mut points = Vec::new();
        sequence.points(from, count, |p| points.push(*p));
        points
    }

    #[test]
    fn starting_in_the_middle_gives_the_same_points() {
        let sequence = Sequence::replicate(7, 3);
        assert_eq!(collect(&sequence, 0, 100)[37..], collect(&sequence, 37, 63)[..]);
    }

    #[test]
    fn points_of_many_variables_begin_with_the_even_ones_and_go_on_unbiased_and_reproducibly() {
        let sequence = Sequence::replicate(7, 3);
        let wide = |from, count| {
            let mut points = Vec::new();
            sequence.wide_points(from, count, 14, |p| points.push(p.to_vec()));
            points
        };
        let all = wide(0, 4096);
        assert_eq!(all[37..100], wide(37, 63)[..]);
        for (wide, point) in all.iter().zip(collect(&sequence, 0, 4096)) {
            assert_eq!(wide[..MOST_VARIABLES], point);
        }
        for k in MOST_VARIABLES..14 {
            let mean = all.iter().map(|p| p[k]).sum::<f64>() / 4096.0;
            let product = all.iter().map(|p| (p[k] - 0.5) * (p[0] - 0.5)).sum::<f64>() / 4096.0;
            assert!((mean - 0.5).abs() < 0.02 && product.abs() < 0.006, "{k} {mean} {product}");
        }
    }

    #[test]
    fn replicates_and_seeds_differ() {
        let first = |seed, replicate| collect(&Sequence::replicate(seed, replicate), 0, 1);
        assert!(first(1, 0) != first(1, 1) && first(1, 0) != first(2, 0));
    }

    #[test]
    fn every_aligned_block_of_points_is_stratified_in_every_variable() {
        for point in 0..MOST_VARIABLES {
            let mut seen = [false; 64];
            for p in collect(&Sequence::replicate(11, 0), 128, 64) {
                seen[(p[point] * 64.0) as usize] = true;
            }
            assert!(seen.iter().all(|s| *s), "variable {point}");
        }
    }
}
