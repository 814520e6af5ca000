//! The one source of randomness: a counter-based generator whose draws are addressed, never "the next one".
//!
//! A draw is named by a key (the seed and a pole's own id), a trial and a [`Slot`]. Adding a pole, changing a policy or
//! using another number of threads therefore changes nobody else's draws. The generator is Philox4x32-10 (Salmon,
//! Moraes, Dror and Shaw, "Parallel random numbers: as easy as 1, 2, 3", SC11, 2011).

use std::convert::Infallible;

/// What a draw decides. The number is part of every draw's address: never renumber.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(u8)]
pub enum Purpose {
    /// The service life.
    Life = 0,
    /// Protected share, decay mode, diameter and install year, given the service life.
    Kind = 1,
    /// The strength ratio kept for life.
    Strength = 2,
    /// The year's strongest wind.
    Wind = 3,
    /// Whether an inspection finds decay.
    Find = 4,
    /// What an inspection makes of what it found.
    Judge = 5,
    /// When a pole goes for a reason that has nothing to do with decay.
    Other = 6,
    /// The decay-slowing factor of a remedial treatment.
    Clock = 7,
    /// A step of the calibration.
    Calibrate = 8,
    /// Invented networks.
    Invent = 9,
    /// Whether a pole's decay is hidden from a class of methods.
    Hidden = 10,
    /// Whether a pole of some strength would have stood until now.
    Stood = 11,
    /// Whether a reject is judged fit for a brace.
    Brace = 12,
    /// On which day of its year a new pole is needed.
    Day = 13,
}

/// The address of one draw within a trial of one pole.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Slot {
    /// What the draw decides.
    pub purpose: Purpose,
    /// 0 for the pole that stands now, 1 for its replacement, and so on.
    pub generation: u8,
    /// The visit, year or attempt within the generation.
    pub visit: u16,
}

impl Slot {
    /// The draw for `purpose` in `generation`, number `visit`.
    pub const fn new(purpose: Purpose, generation: u8, visit: u16) -> Self {
        Self {
            purpose,
            generation,
            visit,
        }
    }

    const fn word(self) -> u32 {
        (self.purpose as u32) << 24 | (self.generation as u32) << 16 | self.visit as u32
    }
}

/// Whose draws: a pole, a line, a wind region, under one seed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Key([u32; 2]);

impl Key {
    /// The key of whoever is named `text` under `seed`.
    ///
    /// The name is hashed with 64-bit FNV-1a (Fowler, Noll and Vo) and mixed with the seed by the finaliser of
    /// `SplitMix64` (Steele, Lea and Flood, "Fast splittable pseudorandom number generators", 2014).
    pub fn of(seed: u64, text: &str) -> Self {
        let name = text.bytes().fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| {
            (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3)
        });
        let mixed = mix(name ^ mix(seed.wrapping_add(0x9e37_79b9_7f4a_7c15)));
        Self([mixed as u32, (mixed >> 32) as u32])
    }

    /// The draw at this address: 32 random bits.
    #[inline]
    pub fn bits(self, trial: u32, slot: Slot) -> u32 {
        philox([trial, slot.word(), 0, 0], self.0)[0]
    }

    /// The draws at one slot of as many trials as there is room for, from trial `first` on: the same bits as from
    /// [`Key::bits`], but several trials at a time.
    pub fn bits_of_trials(self, first: u32, slot: Slot, draws: &mut [u32]) {
        let word = slot.word();
        for (place, draw) in draws.iter_mut().enumerate() {
            *draw = philox([first.wrapping_add(place as u32), word, 0, 0], self.0)[0];
        }
    }

    /// The draw at this address as a number strictly inside (0, 1).
    #[inline]
    pub fn uniform(self, trial: u32, slot: Slot) -> f64 {
        open_unit(self.bits(trial, slot))
    }

    /// A generator for code that wants a stream (invented networks): the addresses `trial`, `slot` onwards.
    pub fn stream(self, trial: u32, slot: Slot) -> Stream {
        Stream {
            key: self.0,
            at: [trial, slot.word(), 0, 0],
            block: [0; 4],
            left: 0,
        }
    }
}

/// 32 random bits as a number strictly inside (0, 1).
#[inline]
pub fn open_unit(bits: u32) -> f64 {
    (f64::from(bits) + 0.5) / 4_294_967_296.0
}

/// A stream of draws under one address, behind the traits of crate `rand`.
#[derive(Debug, Clone)]
pub struct Stream {
    key: [u32; 2],
    at: [u32; 4],
    block: [u32; 4],
    left: usize,
}

impl Stream {
    /// The next number of the stream, strictly inside (0, 1).
    pub fn uniform(&mut self) -> f64 {
        let Ok(bits) = rand::TryRng::try_next_u32(self);
        open_unit(bits)
    }
}

impl rand::TryRng for Stream {
    type Error = Infallible;

    fn try_next_u32(&mut self) -> Result<u32, Infallible> {
        if self.left == 0 {
            self.block = philox(self.at, self.key);
            self.left = 4;
            let count = (u64::from(self.at[3]) << 32 | u64::from(self.at[2])).wrapping_add(1);
            self.at[2] = count as u32;
            self.at[3] = (count >> 32) as u32;
        }
        self.left -= 1;
        Ok(self.block[3 - self.left])
    }

    fn try_next_u64(&mut self) -> Result<u64, Infallible> {
        let low = u64::from(self.try_next_u32()?);
        let high = u64::from(self.try_next_u32()?);
        Ok(high << 32 | low)
    }

    fn try_fill_bytes(&mut self, target: &mut [u8]) -> Result<(), Infallible> {
        for chunk in target.chunks_mut(4) {
            let bytes = self.try_next_u32()?.to_le_bytes();
            chunk.copy_from_slice(&bytes[..chunk.len()]);
        }
        Ok(())
    }
}

const fn mix(mut bits: u64) -> u64 {
    bits = (bits ^ (bits >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    bits = (bits ^ (bits >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    bits ^ (bits >> 31)
}

/// Ten rounds of Philox4x32.
#[expect(
    clippy::inline_always,
    reason = "only in line do several trials' draws become vectors"
)]
#[inline(always)]
const fn philox(mut counter: [u32; 4], mut key: [u32; 2]) -> [u32; 4] {
    let mut round = 0;
    while round < 10 {
        let first = 0xD251_1F53_u64 * counter[0] as u64;
        let second = 0xCD9E_8D57_u64 * counter[2] as u64;
        counter = [
            (second >> 32) as u32 ^ counter[1] ^ key[0],
            second as u32,
            (first >> 32) as u32 ^ counter[3] ^ key[1],
            first as u32,
        ];
        key = [
            key[0].wrapping_add(0x9E37_79B9),
            key[1].wrapping_add(0xBB67_AE85),
        ];
        round += 1;
    }
    counter
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::Rng;

    #[test]
    fn the_generator_gives_the_published_known_answers() {
        // Source: known-answer vectors distributed with the generator's authors' reference code (kat_vectors).
        assert_eq!(
            philox([0; 4], [0; 2]),
            [0x6627_e8d5, 0xe169_c58d, 0xbc57_ac4c, 0x9b00_dbd8]
        );
        assert_eq!(
            philox([u32::MAX; 4], [u32::MAX; 2]),
            [0x408f_276d, 0x41c8_3b0e, 0xa20b_c7c6, 0x6d54_51fd]
        );
        assert_eq!(
            philox(
                [0x243f_6a88, 0x85a3_08d3, 0x1319_8a2e, 0x0370_7344],
                [0xa409_3822, 0x299f_31d0]
            ),
            [0xd16c_fe09, 0x94fd_cceb, 0x5001_e420, 0x2412_6ea1]
        );
    }

    #[test]
    fn draws_of_many_trials_are_those_of_each() {
        let slot = Slot::new(Purpose::Life, 0, 9);
        let key = Key::of(7, "P-1");
        let mut many = [0; 37];
        key.bits_of_trials(1000, slot, &mut many);
        for (trial, bits) in (1000..).zip(many) {
            assert_eq!(bits, key.bits(trial, slot));
        }
    }

    #[test]
    fn a_draw_depends_on_its_whole_address() {
        let slot = Slot::new(Purpose::Find, 1, 2);
        let draw = Key::of(7, "P-1").bits(3, slot);
        assert_eq!(draw, Key::of(7, "P-1").bits(3, slot));
        assert_ne!(draw, Key::of(8, "P-1").bits(3, slot));
        assert_ne!(draw, Key::of(7, "P-2").bits(3, slot));
        assert_ne!(draw, Key::of(7, "P-1").bits(4, slot));
        assert_ne!(
            draw,
            Key::of(7, "P-1").bits(3, Slot::new(Purpose::Find, 1, 3))
        );
        assert_ne!(
            draw,
            Key::of(7, "P-1").bits(3, Slot::new(Purpose::Judge, 1, 2))
        );
    }

    #[test]
    fn draws_fill_the_unit_interval_evenly() {
        // Mean of n uniforms has standard error 1 / sqrt(12 n); four of them leave one chance in 16,000.
        let n = 20_000_u32;
        let key = Key::of(1, "evenness");
        let sum: f64 = (0..n)
            .map(|trial| key.uniform(trial, Slot::new(Purpose::Life, 0, 0)))
            .sum();
        let error = (sum / f64::from(n) - 0.5).abs() * libm::sqrt(12.0 * f64::from(n));
        assert!(error < 4.0, "{error} standard errors from one half");
    }

    #[test]
    fn a_stream_goes_on_past_its_first_block() {
        let mut stream = Key::of(1, "stream").stream(0, Slot::new(Purpose::Invent, 0, 0));
        let draws: Vec<u32> = (0..9).map(|_| stream.next_u32()).collect();
        let mut again = Key::of(1, "stream").stream(0, Slot::new(Purpose::Invent, 0, 0));
        assert_eq!(draws, (0..9).map(|_| again.next_u32()).collect::<Vec<_>>());
        assert_ne!(draws[0], draws[4]);
    }
}
