//! How numbers are said: chances, money, counts, lengths, and estimates with their error.
//!
//! No more digits than are known: chances to two figures with a bottom, money to three, counts whole, an estimate to the
//! digits that its error justifies. Rounding goes through decimal text, so no logarithm is needed.

use crate::inventory::Names;
use crate::programme::supply::SizeName;
use crate::trial::Size;
use crate::units::{LengthUnit, Mm};
use std::fmt;

/// Chances below this are only said to be below it: curves and winds are not known better.
pub const LEAST_CHANCE: f64 = 0.001;

/// Yearly chances of failure below this are only said to be below it: a sound pole's is about 3 in 100,000.
pub const LEAST_YEARLY_FAILURE: f64 = 0.000_01;

/// A number rounded to so many significant figures; what is not finite stays as it is.
pub fn to_figures(value: f64, figures: usize) -> f64 {
    if !value.is_finite() {
        return value;
    }
    format!("{value:.*e}", figures.saturating_sub(1))
        .parse()
        .unwrap_or(value)
}

/// A number rounded to so many decimals.
pub fn to_decimals(value: f64, decimals: usize) -> f64 {
    let rounded: f64 = format!("{value:.decimals$}").parse().unwrap_or(value);
    // No minus before a zero.
    rounded + 0.0
}

/// A chance as tables write it: two figures, and never below `bottom`, which stands for "this or less".
pub fn chance(value: f64, bottom: f64) -> f64 {
    to_figures(value.clamp(bottom, 1.0), 2)
}

/// A chance in words: "below 1 in 1,000", "about 1 in 9", "about 37 %", "above 99 %".
pub fn chance_in_words(value: f64) -> String {
    if value < LEAST_CHANCE {
        return "below 1 in 1,000".to_owned();
    }
    if value <= 0.2 {
        return format!(
            "about 1 in {}",
            count(to_figures(1.0 / value, 2).round() as usize)
        );
    }
    if value > 0.99 {
        return "above 99 %".to_owned();
    }
    format!("about {} %", to_figures(value * 100.0, 2))
}

/// A whole count with separators: 12,345.
pub fn count(number: usize) -> String {
    let digits = number.to_string();
    let mut text = String::with_capacity(digits.len() + digits.len() / 3);
    for (place, digit) in digits.chars().enumerate() {
        if place > 0 && (digits.len() - place).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    text
}

/// A count with its noun: "1 pole", "12,345 poles".
pub fn counted(number: usize, one: &str, many: &str) -> String {
    format!("{} {}", count(number), if number == 1 { one } else { many })
}

/// A mean or quantile of a count, said whole with separators.
pub fn whole(value: f64) -> String {
    count(value.max(0.0).round() as usize)
}

/// A difference said whole, with its sign and separators: "+1,234", "-7", "0".
pub fn signed(value: f64) -> String {
    let digits = count(value.abs().round() as usize);
    match value.round() {
        whole if whole > 0.0 => format!("+{digits}"),
        whole if whole < 0.0 => format!("-{digits}"),
        _ => digits,
    }
}

/// Money, to three figures.
pub fn money(units: f64) -> f64 {
    to_figures(units, 3)
}

/// A length as its unit writes it, to a thousandth.
pub fn length(value: Mm, unit: LengthUnit) -> f64 {
    to_decimals(unit.write(value), 3)
}

/// A size in words: "12 m class 4", "class 4", "unknown".
pub fn size_in_words(size: Size, names: &Names, unit: LengthUnit) -> String {
    named(size.length, size.class.map(|class| names.get(class)), unit)
}

/// A size to order in the same words.
pub fn new_size_in_words(size: &SizeName, unit: LengthUnit) -> String {
    named(size.length, size.class.as_deref(), unit)
}

fn named(long: Option<Mm>, class: Option<&str>, unit: LengthUnit) -> String {
    let parts: Vec<String> = [
        long.map(|mm| format!("{} {}", length(mm, unit), unit.word())),
        class.map(|class| format!("class {class}")),
    ]
    .into_iter()
    .flatten()
    .collect();
    if parts.is_empty() {
        "unknown".to_owned()
    } else {
        parts.join(" ")
    }
}

/// A simulated figure with its standard error; prints only the digits that the error justifies: `412 +- 9`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// The figure.
    pub value: f64,
    /// Its standard error.
    pub error: f64,
}

impl Estimate {
    /// Decimals to print: the error keeps one figure, or two when the first is 1.
    fn decimals(self) -> usize {
        let text = format!("{:e}", self.error);
        let exponent: i32 = text
            .split_once('e')
            .and_then(|(_, digits)| digits.parse().ok())
            .unwrap_or(0);
        let more = i32::from(text.starts_with('1'));
        usize::try_from(more - exponent).unwrap_or(0).min(6)
    }
}

impl fmt::Display for Estimate {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        if !(self.error.is_finite() && self.error > 0.0) {
            return write!(out, "{}", to_decimals(self.value, 2));
        }
        let decimals = self.decimals();
        write!(
            out,
            "{:.decimals$} +- {:.decimals$}",
            self.value, self.error
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn differences_carry_their_sign() {
        assert_eq!(signed(-1234.4), "-1,234");
        assert_eq!(signed(0.4), "0");
        assert_eq!(signed(-0.4), "0");
        assert_eq!(signed(7.0), "+7");
    }

    #[test]
    fn an_estimate_shows_the_digits_that_its_error_justifies() {
        let say = |value, error| Estimate { value, error }.to_string();
        assert_eq!(say(412.34, 9.2), "412 +- 9");
        assert_eq!(say(412.34, 1.34), "412.3 +- 1.3");
        assert_eq!(say(0.0612, 0.0042), "0.061 +- 0.004");
        assert_eq!(say(41_234.0, 530.0), "41234 +- 530");
        assert_eq!(say(7.0, 0.0), "7");
        assert_eq!(say(7.0, f64::NAN), "7");
    }

    #[test]
    fn chances_have_two_figures_and_a_bottom() {
        assert_eq!(chance_in_words(0.0), "below 1 in 1,000");
        assert_eq!(chance_in_words(0.001), "about 1 in 1,000");
        assert_eq!(chance_in_words(0.113), "about 1 in 9");
        assert_eq!(chance_in_words(1.0 / 9.0), "about 1 in 9");
        assert_eq!(chance_in_words(0.366), "about 37 %");
        assert_eq!(chance_in_words(0.999), "above 99 %");
        assert_eq!(chance(0.123_4, LEAST_CHANCE).to_string(), "0.12");
        assert_eq!(chance(1e-9, LEAST_CHANCE).to_string(), "0.001");
        assert_eq!(chance(f64::from(1.0_f32), LEAST_CHANCE).to_string(), "1");
    }

    #[test]
    fn counts_have_separators_and_money_three_figures() {
        assert_eq!(count(0), "0");
        assert_eq!(count(999), "999");
        assert_eq!(count(1_000), "1,000");
        assert_eq!(count(1_234_567), "1,234,567");
        assert_eq!(counted(1, "pole", "poles"), "1 pole");
        assert_eq!(money(12_345.6).to_string(), "12300");
        assert_eq!(to_decimals(-0.000_1, 2).to_string(), "0");
    }

    #[test]
    fn a_length_reads_as_the_owner_wrote_it() {
        for feet in [35.0, 40.0, 45.0] {
            let inside = LengthUnit::Foot.read(feet);
            assert_eq!(
                length(inside, LengthUnit::Foot).to_string(),
                feet.to_string()
            );
        }
    }
}
