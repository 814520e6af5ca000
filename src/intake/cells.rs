//! One text cell to a number, a yes or a no; no problem is written here, only what the text can mean.

use crate::units::LengthUnit;

/// What systems write where nothing is known. Codes such as "none" are not among them: they can mean something.
const BLANKS: [&str; 10] = [
    "", "-", "--", "n/a", "na", "null", "nan", "unknown", "unk", "?",
];

/// Characters with which a spreadsheet takes a text for a formula, and the mark itself, so that reading back is exact.
pub const RISKY: [char; 8] = ['=', '+', '-', '@', '\t', '\r', '\n', '\''];

/// The text behind the apostrophe that keeps a spreadsheet from taking it for a formula; any other text as it stands.
pub fn read_back(cell: &str) -> &str {
    match cell.strip_prefix('\'') {
        Some(text) if text.starts_with(RISKY) => text,
        _ => cell,
    }
}

/// Whether the cell says nothing.
pub(super) fn is_blank(text: &str) -> bool {
    let text = trimmed(text);
    if text.is_ascii() {
        // Nearly every cell: no other text is made of it.
        return text.len() <= LONGEST_BLANK
            && BLANKS.iter().any(|blank| blank.eq_ignore_ascii_case(text));
    }
    BLANKS.contains(&text.to_lowercase().as_str())
}

/// Letters of the longest of [`BLANKS`].
const LONGEST_BLANK: usize = "unknown".len();

/// The text without blanks around it, as [`str::trim`] gives it; at once where letters and digits stand at both ends.
#[inline]
pub(super) fn trimmed(text: &str) -> &str {
    let is_letter = |byte: Option<&u8>| byte.is_none_or(|byte| (b'!'..=b'~').contains(byte));
    let bytes = text.as_bytes();
    if is_letter(bytes.first()) && is_letter(bytes.last()) {
        text
    } else {
        text.trim()
    }
}

/// What `read` makes of a text in small letters.
pub(super) fn in_small_letters<R>(text: &str, read: impl FnOnce(&str) -> R) -> R {
    let mut room = [0; 64];
    match room.get_mut(..text.len()).filter(|_| text.is_ascii()) {
        Some(small) => {
            small.copy_from_slice(text.as_bytes());
            small.make_ascii_lowercase();
            read(std::str::from_utf8(small).unwrap_or_default())
        }
        None => read(&text.to_lowercase()),
    }
}

/// What a spreadsheet shows where a formula failed, and writes into an export.
const ERRORS: [&str; 11] = [
    "#N/A", "#NA", "#REF!", "#VALUE!", "#DIV/0!", "#NAME?", "#NUM!", "#NULL!", "#SPILL!", "#CALC!",
    "#DATA!",
];

/// Whether the cell holds a spreadsheet's error and nothing else.
pub(super) fn is_error(text: &str) -> bool {
    let text = trimmed(text);
    text.starts_with('#') && ERRORS.contains(&text.to_uppercase().as_str())
}

/// What a text can mean as a number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Number {
    /// One number.
    One(f64),
    /// `1,234`: with thousands separator, and with decimal comma.
    Either(f64, f64),
}

/// The number that a text holds and the unit written behind it; `None` when it is none.
pub(super) fn read_number(text: &str) -> Option<(Number, Option<LengthUnit>)> {
    let text = trimmed(text);
    if let Some(value) = bare_number(text) {
        return Some((Number::One(value), None));
    }
    let end = text
        .rfind(|c: char| c.is_ascii_digit())
        .map_or(0, |place| place + 1);
    let end = end + usize::from(text[end..].starts_with('.'));
    let (digits, unit) = text.split_at(end);
    let unit = match unit.trim().trim_end_matches('.').to_lowercase().as_str() {
        "" => None,
        word => Some(unit_word(word)?),
    };
    let number = mixed_fraction(digits.trim()).or_else(|| plain_number(digits.trim()));
    number.map(|number| (number, unit))
}

/// A number that is nothing but digits, with a point between them and a sign before them at most: most of all that are read.
fn bare_number(text: &str) -> Option<f64> {
    let (sign, digits) = match text.strip_prefix('-') {
        Some(rest) => (-1.0, rest),
        None => (1.0, text),
    };
    let bytes = digits.as_bytes();
    let are_digits = |part: &[u8]| !part.is_empty() && part.iter().all(u8::is_ascii_digit);
    let is_bare = match bytes.iter().position(|byte| *byte == b'.') {
        None => are_digits(bytes),
        Some(point) => are_digits(&bytes[..point]) && are_digits(&bytes[point + 1..]),
    };
    let value: f64 = digits.parse().ok().filter(|_| is_bare)?;
    value.is_finite().then_some(sign * value)
}

/// `31 1/2` or `31-1/2`, as a tape in inches is read: a whole number and halves, quarters, eighths, sixteenths or
/// thirty-seconds. A fraction alone may be much else.
fn mixed_fraction(text: &str) -> Option<Number> {
    let (before, below) = text.split_once('/')?;
    let (whole, above) = before.trim().rsplit_once([' ', '-'])?;
    let is_whole = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    let parts = [whole.trim(), above.trim(), below.trim()];
    if !parts.into_iter().all(is_whole) {
        return None;
    }
    let [whole, above, below] = parts.map(|part| part.parse::<u32>().ok());
    let (whole, above, below) = (whole?, above?, below?);
    let fits = [2, 4, 8, 16, 32].contains(&below) && above < below;
    fits.then(|| Number::One(f64::from(whole) + f64::from(above) / f64::from(below)))
}

/// A unit as people write it behind a number.
fn unit_word(word: &str) -> Option<LengthUnit> {
    Some(match word {
        "mm" | "millimetre" | "millimetres" | "millimeter" | "millimeters" => {
            LengthUnit::Millimetre
        }
        "cm" | "centimetre" | "centimetres" | "centimeter" | "centimeters" => {
            LengthUnit::Centimetre
        }
        "m" | "metre" | "metres" | "meter" | "meters" => LengthUnit::Metre,
        "in" | "inch" | "inches" | "\"" | "\u{201d}" | "''" => LengthUnit::Inch,
        "ft" | "foot" | "feet" | "'" | "\u{2019}" => LengthUnit::Foot,
        _ => return None,
    })
}

fn plain_number(text: &str) -> Option<Number> {
    let (sign, text) = match text.strip_prefix(['-', '\u{2212}']) {
        Some(rest) => (-1.0, rest.trim_start()),
        None => (1.0, text.strip_prefix('+').unwrap_or(text)),
    };
    if !text.starts_with(|c: char| c.is_ascii_digit() || c == '.' || c == ',') {
        return None;
    }
    if !text.contains([',', ' ', '\u{a0}', '\u{202f}', '\'', '\u{2019}'])
        && text.matches('.').count() < 2
    {
        let value = text.parse::<f64>().ok().filter(|value| value.is_finite())?;
        return Some(Number::One(sign * value));
    }
    let spaced = [' ', '\u{a0}', '\u{202f}', '\'', '\u{2019}'];
    let (whole, fraction) = match (text.rfind('.'), text.rfind(',')) {
        (Some(point), Some(comma)) => {
            let last = point.max(comma);
            (&text[..last], Some(&text[last + 1..]))
        }
        (Some(point), None) if text.matches('.').count() == 1 => {
            (&text[..point], Some(&text[point + 1..]))
        }
        (None, Some(comma)) if text.matches(',').count() == 1 => {
            let (whole, rest) = (&text[..comma], &text[comma + 1..]);
            let could_be_thousands = rest.len() == 3
                && (1..=3).contains(&whole.len())
                && !whole.starts_with('0')
                && whole.bytes().all(|b| b.is_ascii_digit());
            if could_be_thousands {
                let thousands = digits(&format!("{whole}{rest}"), None)?;
                let decimal = digits(whole, Some(rest))?;
                return Some(Number::Either(sign * thousands, sign * decimal));
            }
            (whole, Some(rest))
        }
        _ => (text, None),
    };
    let groups: Vec<&str> = whole
        .split(|c| c == ',' || c == '.' || spaced.contains(&c))
        .collect();
    let regular = groups.len() == 1
        || ((1..=3).contains(&groups[0].len()) && groups[1..].iter().all(|group| group.len() == 3));
    if !regular {
        return None;
    }
    digits(&groups.concat(), fraction).map(|value| Number::One(sign * value))
}

fn digits(whole: &str, fraction: Option<&str>) -> Option<f64> {
    let fraction = fraction.unwrap_or("");
    let all_digits = |text: &str| text.bytes().all(|b| b.is_ascii_digit());
    if !all_digits(whole) || !all_digits(fraction) || whole.len() + fraction.len() == 0 {
        return None;
    }
    format!("0{whole}.{fraction}0").parse().ok()
}

/// Yes or no; `None` for anything else.
pub(super) fn read_yes_or_no(text: &str) -> Option<bool> {
    in_small_letters(trimmed(text), |small| match small {
        "yes" | "y" | "true" | "t" | "1" => Some(true),
        "no" | "n" | "false" | "f" | "0" => Some(false),
        _ => None,
    })
}

#[cfg(test)]
mod tests {
    use super::{Number, bare_number, in_small_letters, is_blank, is_error, read_number, trimmed};
    use crate::units::LengthUnit;

    #[test]
    fn numbers_are_read_as_people_write_them() {
        let one = |text: &str, value: f64, unit| {
            assert_eq!(
                read_number(text),
                Some((Number::One(value), unit)),
                "{text}"
            );
        };
        one("12.5", 12.5, None);
        one("12,5", 12.5, None);
        one(" 40 ft", 40.0, Some(LengthUnit::Foot));
        one("40'", 40.0, Some(LengthUnit::Foot));
        one("9 in.", 9.0, Some(LengthUnit::Inch));
        one("1,234,567", 1_234_567.0, None);
        one("1.234.567,5", 1_234_567.5, None);
        one("1,234.5", 1_234.5, None);
        one("1 234", 1_234.0, None);
        one("0,125", 0.125, None);
        one("-3", -3.0, None);
        one("1.2E+01", 12.0, None);
        one("31 1/2 in", 31.5, Some(LengthUnit::Inch));
        one("31-1/2\"", 31.5, Some(LengthUnit::Inch));
        one("5 3/16", 5.1875, None);
        assert_eq!(
            read_number("1,234"),
            Some((Number::Either(1_234.0, 1.234), None))
        );
        for text in [
            "", "tall", "12 x", "12..5", "1,23,4", "nan", "inf", "4 5", "-", "5 3/2", "5 1/3",
            "1/2",
        ] {
            assert_eq!(read_number(text), None, "{text}");
        }
    }

    #[test]
    fn errors_of_spreadsheets_are_no_texts() {
        assert!(is_error(" #n/a ") && is_error("#DIV/0!"));
        assert!(!is_error("#12") && !is_error("N/A"));
    }

    #[test]
    fn none_is_a_code_and_no_blank() {
        assert!(is_blank(" N/A ") && is_blank("UNKNOWN") && is_blank("\u{a0}?"));
        // The sign of degrees Kelvin is a capital k.
        assert!(is_blank("un\u{212a}"));
        assert!(!is_blank("none") && !is_blank("unknown."));
    }

    #[test]
    fn short_ways_end_where_the_long_ones_do() {
        let texts = [
            "",
            " ",
            "a",
            " a",
            "a ",
            "\u{a0}a",
            "a\u{3000}",
            "\u{fc}",
            "\ta\n",
            "A B",
            "\u{130}X",
            "\u{1f332}",
        ];
        for text in texts {
            assert_eq!(trimmed(text), text.trim(), "{text:?}");
            let long = "Ab".repeat(40);
            for text in [text, long.as_str()] {
                assert_eq!(in_small_letters(text, str::to_owned), text.to_lowercase());
            }
        }
        for text in ["12", "12.5", "-0.25", "007"] {
            assert_eq!(bare_number(text), text.parse().ok(), "{text}");
        }
        let too_long = "9".repeat(400);
        for text in [
            "",
            "-",
            ".5",
            "5.",
            "1.2.3",
            "+1",
            "1e3",
            "inf",
            "1,5",
            "-.",
            too_long.as_str(),
        ] {
            assert_eq!(bare_number(text), None, "{text}");
        }
    }
}
