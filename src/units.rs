//! The quantities that the model counts in: lengths, shares, money, decay zones and dates.
//!
//! Owns the newtypes and the conversions between an owner's units and ours, and nothing else. Lengths are
//! millimetres inside, moments newton metres, ages and durations are plain `f64` years (their names say so), money is whole cents.

use std::fmt;

pub use jiff::civil::Date;

/// Mean length of a calendar year, in days (Gregorian calendar: 400 years have 146,097 days).
const DAYS_PER_YEAR: f64 = 146_097.0 / 400.0;

/// A length in millimetres.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
pub struct Mm(pub f64);

impl Mm {
    /// Diameter of a round section from its circumference.
    pub fn diameter_of_circumference(self) -> Self {
        Self(self.0 / std::f64::consts::PI)
    }

    /// Circumference of a round section from its diameter.
    pub fn circumference_of_diameter(self) -> Self {
        Self(self.0 * std::f64::consts::PI)
    }
}

/// A unit in which an owner writes lengths.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum LengthUnit {
    /// Millimetres.
    Millimetre,
    /// Centimetres.
    Centimetre,
    /// Metres.
    Metre,
    /// International inches.
    Inch,
    /// International feet.
    Foot,
}

impl LengthUnit {
    /// All units, in the order in which help texts list them.
    pub const ALL: [Self; 5] = [
        Self::Millimetre,
        Self::Centimetre,
        Self::Metre,
        Self::Inch,
        Self::Foot,
    ];

    /// The word for the unit in programmes and tables.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Millimetre => "mm",
            Self::Centimetre => "cm",
            Self::Metre => "m",
            Self::Inch => "in",
            Self::Foot => "ft",
        }
    }

    /// Millimetres in one unit.
    pub const fn millimetres(self) -> f64 {
        match self {
            Self::Millimetre => 1.0,
            Self::Centimetre => 10.0,
            Self::Metre => 1000.0,
            Self::Inch => 25.4,
            Self::Foot => 304.8,
        }
    }

    /// The length that an owner means by `value` in this unit.
    pub fn read(self, value: f64) -> Mm {
        Mm(value * self.millimetres())
    }

    /// A length as this unit writes it.
    pub fn write(self, length: Mm) -> f64 {
        length.0 / self.millimetres()
    }

    /// The unit named by `word`, if there is one.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|unit| unit.word() == word)
    }
}

/// A force in newtons.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
pub struct Newton(pub f64);

/// A bending moment in newton metres.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
pub struct NewtonMetre(pub f64);

/// A stress in megapascals.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
pub struct Stress(pub f64);

/// A wind pressure in pascals.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
pub struct Pressure(pub f64);

/// Newtons in a pound-force: 0.45359237 kg times 9.80665 m/s2, both exact.
const NEWTONS_PER_POUND: f64 = 0.453_592_37 * 9.806_65;

impl Newton {
    /// A force given in pounds.
    pub fn of_pounds(pounds: f64) -> Self {
        Self(pounds * NEWTONS_PER_POUND)
    }
}

impl Stress {
    /// A stress given in pounds per square inch.
    pub fn of_psi(psi: f64) -> Self {
        Self(psi * NEWTONS_PER_POUND / (25.4 * 25.4))
    }
}

impl Pressure {
    /// A pressure given in pounds per square foot.
    pub fn of_psf(psf: f64) -> Self {
        Self(psf * NEWTONS_PER_POUND / (0.3048 * 0.3048))
    }
}

/// A unit in which an owner writes bending moments.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum MomentUnit {
    /// Newton metres.
    NewtonMetre,
    /// Kilonewton metres.
    KilonewtonMetre,
    /// Foot-pounds.
    FootPound,
}

impl MomentUnit {
    /// All units, in the order in which help texts list them.
    pub const ALL: [Self; 3] = [Self::KilonewtonMetre, Self::NewtonMetre, Self::FootPound];

    /// The word for the unit in programmes and tables.
    pub const fn word(self) -> &'static str {
        match self {
            Self::NewtonMetre => "Nm",
            Self::KilonewtonMetre => "kNm",
            Self::FootPound => "ft-lb",
        }
    }

    /// Newton metres in one unit.
    pub const fn newton_metres(self) -> f64 {
        match self {
            Self::NewtonMetre => 1.0,
            Self::KilonewtonMetre => 1000.0,
            Self::FootPound => NEWTONS_PER_POUND * 0.3048,
        }
    }

    /// The moment that an owner means by `value` in this unit.
    pub fn read(self, value: f64) -> NewtonMetre {
        NewtonMetre(value * self.newton_metres())
    }

    /// A moment as this unit writes it.
    pub fn write(self, moment: NewtonMetre) -> f64 {
        moment.0 / self.newton_metres()
    }

    /// The unit that people mean by `word`, however they join it.
    pub fn from_word(word: &str) -> Option<Self> {
        let plain: String = word
            .chars()
            .filter(char::is_ascii_alphabetic)
            .map(|c| c.to_ascii_lowercase())
            .collect();
        Some(match plain.as_str() {
            "knm" => Self::KilonewtonMetre,
            "nm" => Self::NewtonMetre,
            "ftlb" | "ftlbs" | "ftlbf" | "lbft" | "lbfft" => Self::FootPound,
            _ => return None,
        })
    }
}

/// A share or probability, always within 0..=1.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
pub struct Fraction(f64);

impl Fraction {
    /// A fraction, or `None` when `value` is not a number within 0..=1.
    pub fn new(value: f64) -> Option<Self> {
        (0.0..=1.0).contains(&value).then_some(Self(value))
    }

    /// A fraction from a value that arithmetic may have put a hair outside 0..=1; not-a-number becomes 0.
    pub fn clamped(value: f64) -> Self {
        Self(if value.is_nan() {
            0.0
        } else {
            value.clamp(0.0, 1.0)
        })
    }

    /// The share as a number.
    pub const fn get(self) -> f64 {
        self.0
    }
}

/// Money in whole cents of the programme's currency.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Money(pub i64);

impl Money {
    /// Money from units of the currency, rounded to the cent.
    pub fn from_units(units: f64) -> Self {
        Self((units * 100.0).round() as i64)
    }

    /// Units of the currency.
    pub fn units(self) -> f64 {
        self.0 as f64 / 100.0
    }
}

impl std::ops::Add for Money {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        // A sum that no number holds stays at the end of the numbers instead of changing its sign.
        Self(self.0.saturating_add(other.0))
    }
}

impl std::ops::Mul<i64> for Money {
    type Output = Self;
    fn mul(self, count: i64) -> Self {
        Self(self.0.saturating_mul(count))
    }
}

/// A decay hazard zone, 1 (low) to 5 (severe).
///
/// The scale is the one of the map in the federal rural bulletin on pole inspection (RUS Bulletin 1730B-121): an
/// owner enters the zone, polewright never derives it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Zone(u8);

impl Zone {
    /// The number of zones.
    pub const COUNT: usize = 5;

    /// All zones, mildest first.
    pub const ALL: [Self; Self::COUNT] = [Self(1), Self(2), Self(3), Self(4), Self(5)];

    /// The zone with this number, 1 to 5.
    pub fn new(number: u8) -> Option<Self> {
        (1..=5).contains(&number).then_some(Self(number))
    }

    /// The zone's number, 1 to 5.
    pub const fn number(self) -> u8 {
        self.0
    }

    /// The zone's place in tables that hold one entry a zone.
    pub const fn index(self) -> usize {
        self.0 as usize - 1
    }
}

impl fmt::Display for Zone {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{}", self.0)
    }
}

/// Years from one date to another; negative when `to` lies before `from`.
pub fn years_between(from: Date, to: Date) -> f64 {
    f64::from(days_between(from, to)) / DAYS_PER_YEAR
}

/// Whole days from one date to another.
pub fn days_between(from: Date, to: Date) -> i32 {
    from.until((jiff::Unit::Day, to))
        .map_or(0, |span| span.get_days())
}

/// The date `years` after `from`, to the day; dates beyond the calendar stop at its end.
pub fn date_after(from: Date, years: f64) -> Date {
    let days = (years * DAYS_PER_YEAR).round() as i64;
    from.saturating_add(jiff::Span::new().days(days.clamp(-3_000_000, 3_000_000)))
}

/// The date a number of days after `from`; dates beyond the calendar stop at its end.
pub fn days_after(from: Date, days: i32) -> Date {
    from.saturating_add(jiff::Span::new().days(days.clamp(-3_000_000, 3_000_000)))
}

/// The same day of another year (28 February for 29 February where there is none).
pub fn anniversary(from: Date, years: i32) -> Date {
    from.saturating_add(jiff::Span::new().years(years.clamp(-9_000, 9_000)))
}

/// The middle of a calendar year: where an event known only by its year is put.
pub fn mid_year(year: i16) -> Date {
    Date::new(year.clamp(1, 9999), 7, 1).unwrap_or(Date::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn money_that_no_number_holds_stays_at_the_end_of_the_numbers() {
        let most = Money::from_units(1e300);
        assert_eq!(most, Money(i64::MAX));
        assert_eq!(most + most, most);
        assert_eq!(most * 2, most);
        assert_eq!(most * -2, Money(i64::MIN));
        // 2^53 cents and one: beyond what a double tells apart, not beyond whole cents.
        assert_eq!(Money(1 << 53) + Money(1), Money((1 << 53) + 1));
    }

    #[test]
    fn a_length_survives_the_owners_unit() {
        for unit in LengthUnit::ALL {
            let there = unit.read(12.5);
            assert!((unit.write(there) - 12.5).abs() < 1e-12, "{unit:?}");
            assert_eq!(LengthUnit::from_word(unit.word()), Some(unit));
        }
    }

    #[test]
    fn a_moment_survives_the_owners_unit() {
        for unit in MomentUnit::ALL {
            assert!((unit.write(unit.read(12.5)) - 12.5).abs() < 1e-12);
            assert_eq!(MomentUnit::from_word(unit.word()), Some(unit));
        }
        // 1 ft-lb = 1.35582 N m; 1000 psi = 6.89476 MPa; 1 psf = 47.8803 Pa; 1 lb = 4.44822 N.
        assert!((MomentUnit::FootPound.read(1.0).0 - 1.355_82).abs() < 5e-6);
        assert!((Stress::of_psi(1000.0).0 - 6.894_76).abs() < 5e-6);
        assert!((Pressure::of_psf(1.0).0 - 47.8803).abs() < 5e-5);
        assert!((Newton::of_pounds(1.0).0 - 4.448_22).abs() < 5e-6);
        assert_eq!(
            MomentUnit::from_word("kN m"),
            Some(MomentUnit::KilonewtonMetre)
        );
        assert_eq!(MomentUnit::from_word("mm"), None);
    }

    #[test]
    fn forty_years_are_forty_years() {
        let age = years_between(date(1980, 5, 1), date(2020, 5, 1));
        assert!((age - 40.0).abs() < 0.005, "{age}");
        assert_eq!(date_after(date(1980, 5, 1), age), date(2020, 5, 1));
    }

    #[test]
    fn days_and_years_after_a_date_follow_the_calendar() {
        assert_eq!(days_after(date(2024, 2, 28), 2), date(2024, 3, 1));
        assert_eq!(anniversary(date(2024, 2, 29), 1), date(2025, 2, 28));
        assert_eq!(anniversary(date(2025, 1, 1), -3), date(2022, 1, 1));
        assert_eq!(days_after(date(9999, 12, 1), i32::MAX), Date::MAX);
    }

    #[test]
    fn a_fraction_refuses_what_is_not_a_share() {
        assert!(Fraction::new(1.1).is_none());
        assert!(Fraction::new(f64::NAN).is_none());
        assert!((Fraction::clamped(1.0 + 1e-12).get() - 1.0).abs() < f64::EPSILON);
    }
}
