//! Size classes of wooden poles as American lists write them: H6 to H1, 1 to 7, 9 and 10, strongest first.
//!
//! Only the names and their order stand here; what each class is, in loads and circumferences, is data of
//! `models/pole-sizes.toml`. Hazard classes of preservative treatment, which are also called H1 to H6, are none of them.

/// The names, strongest first. There is no class 8.
const WORDS: [&str; PoleClass::COUNT] = [
    "H6", "H5", "H4", "H3", "H2", "H1", "1", "2", "3", "4", "5", "6", "7", "9", "10",
];

/// A size class of a pole.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PoleClass(u8);

impl PoleClass {
    /// Number of classes.
    pub const COUNT: usize = 15;

    /// All classes, strongest first.
    pub fn all() -> impl Iterator<Item = Self> {
        (0..Self::COUNT as u8).map(Self)
    }

    /// The class's place in tables that hold one entry a class.
    pub const fn index(self) -> usize {
        self.0 as usize
    }

    /// Its name.
    pub const fn word(self) -> &'static str {
        WORDS[self.index()]
    }

    /// The class with this name, in capitals or not; `None` when there is none.
    pub fn from_word(word: &str) -> Option<Self> {
        let place = WORDS.iter().position(|own| own.eq_ignore_ascii_case(word));
        place.map(|place| Self(place as u8))
    }

    /// Whether it is one of H1 to H6, whose names are also those of hazard classes of treatment.
    pub const fn is_h(self) -> bool {
        self.0 < 6
    }
}

#[cfg(test)]
mod tests {
    use super::PoleClass;

    #[test]
    fn a_class_is_found_by_its_name() {
        for class in PoleClass::all() {
            assert_eq!(PoleClass::from_word(class.word()), Some(class));
            assert_eq!(class.is_h(), class.word().starts_with('H'));
        }
        assert_eq!(PoleClass::from_word("h2").map(PoleClass::word), Some("H2"));
        for none in ["8", "0", "H7", "11", ""] {
            assert_eq!(PoleClass::from_word(none), None, "{none}");
        }
    }
}
