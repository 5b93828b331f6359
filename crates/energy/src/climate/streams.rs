//! Streams of random numbers: one for each pair of seed and index, the same whichever thread asks.
//! Never: takes a seed from a clock or the system.
//! Start at [`stream`].

use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::SeedableRng;

/// The stream of year `index` under `seed`.
///
/// The four words of the generator's state are the first four outputs of SplitMix64 (Steele, Lea and Flood 2014), as its
/// authors advise for xoshiro, started at `seed` XOR the SplitMix64 scramble of `index`. The scramble is one to one, so
/// no two indices of a seed share a start.
pub(crate) fn stream(seed: u64, index: u64) -> Xoshiro256PlusPlus {
    let mut state = seed ^ scramble(index.wrapping_add(GOLDEN));
    let mut bytes = [0; 32];
    for word in bytes.chunks_exact_mut(8) {
        state = state.wrapping_add(GOLDEN);
        word.copy_from_slice(&scramble(state).to_le_bytes());
    }
    Xoshiro256PlusPlus::from_seed(bytes)
}

const GOLDEN: u64 = 0x9e37_79b9_7f4a_7c15;

fn scramble(mut z: u64) -> u64 {
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand_xoshiro::rand_core::Rng;

    // SplitMix64 from 1234567: first output 6457827717110365317 (published test vector of its reference code; memory).
    #[test]
    fn the_scramble_is_splitmix64() {
        assert_eq!(scramble(1_234_567u64.wrapping_add(GOLDEN)), 6_457_827_717_110_365_317);
    }

    #[test]
    fn streams_repeat_and_differ() {
        let first = |seed, index| stream(seed, index).next_u64();
        assert_eq!(first(7, 3), first(7, 3));
        assert_ne!(first(7, 3), first(7, 4));
        assert_ne!(first(7, 3), first(8, 3));
    }
}
