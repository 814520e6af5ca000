//! A pocket of decay as the command line writes it: `enclosed:diameter=75,from_centre=80,direction=0`.
//!
//! Owns the words, the working and the errors of `--pocket`; the geometry is that of [`crate::wood::pockets`].

use serde::Serialize;

use super::strength::written_length;
use crate::Error;
use crate::units::{LengthUnit, Mm};
use crate::wood::pockets::Misfit;
use crate::wood::{Pocket, PocketedSection};

/// How the two kinds are written.
const FORMS: &str = "write enclosed:diameter=75,from_centre=80,direction=0 or exposed:width=60,depth=50,direction=90, \
                     lengths in the unit of --unit, directions in degrees";

/// The pocket that `text` describes.
pub fn read(text: &str, unit: LengthUnit) -> Result<Pocket, Error> {
    let (kind, rest) = text.split_once(':').unwrap_or((text, ""));
    let keys = match kind {
        "enclosed" => ["diameter", "from_centre", "direction"],
        "exposed" => ["width", "depth", "direction"],
        _ => return Err(fault(text, &format!("has no kind `{kind}`"))),
    };
    let mut values = [None; 3];
    for part in rest.split(',').filter(|part| !part.trim().is_empty()) {
        let (key, value) = part.split_once('=').unwrap_or((part, ""));
        let Some(place) = keys.iter().position(|known| *known == key.trim()) else {
            return Err(fault(text, &format!("has no `{}` to {kind}", key.trim())));
        };
        let number = value.trim().parse().ok().filter(|n: &f64| n.is_finite());
        let Some(number) = number else {
            let what = format!("{} `{}` is no number", key.trim(), value.trim());
            return Err(fault(text, &what));
        };
        if values[place].replace(number).is_some() {
            return Err(fault(text, &format!("names {} twice", key.trim())));
        }
    }
    if let Some(place) = values.iter().position(Option::is_none) {
        return Err(fault(text, &format!("lacks {}", keys[place])));
    }
    let [one, other, degrees] = values.map(Option::unwrap_or_default);
    if one < 0.0 || other < 0.0 {
        return Err(fault(text, "has a length below 0"));
    }
    let (one, other) = (unit.read(one), unit.read(other));
    Ok(if kind == "enclosed" {
        Pocket::Enclosed {
            radius: Mm(one.0 / 2.0),
            from_centre: other,
            degrees,
        }
    } else {
        Pocket::Exposed {
            width: one,
            depth: other,
            degrees,
        }
    })
}

fn fault(text: &str, what: &str) -> Error {
    Error::Argument {
        what: format!("--pocket {text}: {what}"),
        help: FORMS.to_owned(),
    }
}

/// Why the pocket that `text` describes cannot be on a section whose outside decay left this radius.
pub fn misfit(text: &str, misfit: Misfit, left: Mm, unit: LengthUnit) -> Error {
    let write = |length: Mm| written_length(unit, length);
    let (what, help) = match misfit {
        Misfit::NotALength => ("is no length", FORMS.to_owned()),
        Misfit::ThroughTheSurface => (
            "reaches beyond the surface left",
            format!(
                "from_centre and half of the diameter are at most {} together here; a pocket open to the surface is \
                 exposed:width=...,depth=...,direction=...",
                write(left)
            ),
        ),
        Misfit::TooWide => (
            "is wider than the section left",
            format!("at most {} wide here", write(Mm(2.0 * left.0))),
        ),
        Misfit::TooDeep => (
            "is deeper than the centre",
            format!("at most {} deep from the surface left", write(left)),
        ),
    };
    Error::Argument {
        what: format!("--pocket {text} {what}"),
        help,
    }
}

/// The pocket in words.
fn words(pocket: &Pocket, unit: LengthUnit) -> String {
    let write = |length: Mm| written_length(unit, length);
    match *pocket {
        Pocket::Enclosed {
            radius,
            from_centre,
            degrees,
        } => format!(
            "An enclosed pocket {} across, its centre {} from the pole's, towards {degrees} degrees.",
            write(Mm(2.0 * radius.0)),
            write(from_centre)
        ),
        Pocket::Exposed {
            width,
            depth,
            degrees,
        } => format!(
            "An exposed pocket {} wide and {} deep from the surface left, towards {degrees} degrees.",
            write(width),
            write(depth)
        ),
    }
}

/// What only a section with pockets has: strength by direction of load.
#[derive(Serialize)]
pub struct Directions {
    /// The owner's, or the worst.
    pub load_direction_degrees: f64,
    /// Where least is left.
    pub worst_direction_degrees: f64,
    remaining_strength_in_worst_direction: f64,
    #[serde(skip)]
    given: bool,
}

/// The direction of load to reckon with, and the worst.
pub fn directions(left: &PocketedSection, given: Option<f64>) -> Directions {
    let worst = left.worst_direction();
    Directions {
        load_direction_degrees: given.unwrap_or(worst),
        worst_direction_degrees: worst,
        remaining_strength_in_worst_direction: left.bending(worst).remaining_strength,
        given: given.is_some(),
    }
}

/// A number of four digits; with a power of ten where it would be long to read.
fn four_digits(size: f64) -> String {
    let short = format!("{size:.3e}");
    let exponent = short
        .rsplit_once('e')
        .and_then(|(_, tens)| tens.parse().ok());
    match exponent {
        Some(tens @ 0..=4) => format!("{size:.0$}", 3_usize.saturating_sub(tens)),
        _ => short,
    }
}

/// The lines from the pockets to the strength.
pub fn working(
    pockets: &[Pocket],
    left: &PocketedSection,
    towards: &Directions,
    unit: LengthUnit,
) -> Vec<String> {
    let write = |length: f64| written_length(unit, Mm(length));
    // Numbers of four digits, whatever the unit.
    let power = |value: f64, power: i32| {
        let size = (0..power).fold(value, |size, _| size / unit.millimetres());
        format!("{} {}^{power}", four_digits(size), unit.word())
    };
    let degrees = towards.load_direction_degrees;
    let bending = left.bending(degrees);
    let mut lines: Vec<String> = pockets.iter().map(|one| words(one, unit)).collect();
    lines.push(format!(
        "All on one section they leave an area of {}, its centroid {} from the pole's centre.",
        power(left.area, 2),
        write(left.centroid[0].hypot(left.centroid[1]))
    ));
    lines.push(if towards.given {
        format!(
            "Load along {degrees:.1} degrees, as given; the worst is {:.1} degrees and leaves {:.3}.",
            towards.worst_direction_degrees, towards.remaining_strength_in_worst_direction
        )
    } else {
        format!("Load along {degrees:.1} degrees, the worst direction.")
    });
    lines.push(format!(
        "Remaining strength: I / (c S) with I = {} about the centroid, c = {} to the farther face, S = pi D^3 / 32 = {}: \
         {:.3} of the original.",
        power(bending.second_moment, 4),
        write(bending.farthest_fibre.0),
        power(left.original_modulus(), 3),
        bending.remaining_strength
    ));
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(text: &str) -> String {
        read(text, LengthUnit::Millimetre)
            .expect_err("a fault")
            .to_string()
    }

    #[test]
    fn both_kinds_are_read_in_the_owners_unit() {
        let inches = |text| read(text, LengthUnit::Inch).expect("a pocket");
        assert_eq!(
            inches("enclosed:diameter=4, from_centre=2, direction=-15"),
            Pocket::Enclosed {
                radius: Mm(50.8),
                from_centre: Mm(50.8),
                degrees: -15.0
            }
        );
        assert_eq!(
            inches("exposed:direction=90,depth=1,width=2"),
            Pocket::Exposed {
                width: Mm(50.8),
                depth: Mm(25.4),
                degrees: 90.0
            }
        );
    }

    #[test]
    fn what_is_no_pocket_is_named() {
        assert!(told("open:width=1").contains("has no kind `open`"));
        assert!(told("exposed:width=60,depth=50").contains("lacks direction"));
        assert!(told("exposed:width=60,diameter=5").contains("has no `diameter` to exposed"));
        assert!(told("exposed:width=wide").contains("width `wide` is no number"));
        assert!(told("exposed:width=NaN").contains("is no number"));
        assert!(told("exposed:width=1,width=2").contains("names width twice"));
        assert!(told("exposed:width=-1,depth=5,direction=0").contains("below 0"));
        assert!(told("").contains("help: write enclosed:diameter=75"));
    }
}
