//! `polewright strength`: the remaining strength of one groundline section, with its working.
//!
//! Reads numbers from the command line, asks [`Section`] and [`PocketedSection`], and writes; the geometry is not here.

use std::io::Write;

use serde::Serialize;

use super::capacity::{Asked, Capacity, CapacityArgs};
use super::{pocket, written};
use crate::Error;
use crate::pole::Mode;
use crate::units::{LengthUnit, Mm};
use crate::wood::section::{REFERENCE_STRENGTH, reduced_circumference};
use crate::wood::{Pocket, PocketedSection, Section};

/// What no figure of this command is for.
const CAUTION: &str = "This is a desk figure from the readings given. It never clears a pole for climbing, loading or \
                       work: a qualified person checks the pole on site first.";

/// Diameters outside these are slips of the unit, not poles.
const DIAMETERS: [Mm; 2] = [Mm(50.0), Mm(2000.0)];

/// Remaining strength of one groundline section.
#[derive(Debug, Clone, clap::Args)]
#[command(
    after_help = "Examples: polewright strength --diameter 300 --outside-decay-depth 20 --sound-shell 50\n          \
                  polewright strength --diameter 300 --pocket enclosed:diameter=75,from_centre=80,direction=0 \
                  --pocket exposed:width=60,depth=50,direction=90\n          \
                  polewright strength --length 40ft --class 4 --species pine --sound-shell 2 --unit in \
                  --required-moment \"40000 ft-lb\""
)]
pub struct StrengthArgs {
    /// Groundline diameter when new [default: the least of --class and --length]
    #[arg(
        long,
        value_name = "LENGTH",
        required_unless_present = "class",
        value_parser = number
    )]
    pub diameter: Option<f64>,
    /// Depth of outside decay, all round
    #[arg(
        long,
        value_name = "LENGTH",
        allow_negative_numbers = true,
        value_parser = number
    )]
    pub outside_decay_depth: Option<f64>,
    /// Sound wood left around a centred hollow, measured on what is left after the outside decay; several readings parted by
    /// ; or given one by one, of which the mean counts
    #[arg(
        long,
        value_name = "LENGTH",
        allow_negative_numbers = true,
        value_delimiter = ';',
        value_parser = number
    )]
    pub sound_shell: Vec<f64>,
    /// A local pocket of decay on what is left after the outside decay; may be given several times
    ///
    /// `enclosed:diameter=LENGTH,from_centre=LENGTH,direction=DEGREES` is a round void with wood all around it.
    /// `exposed:width=LENGTH,depth=LENGTH,direction=DEGREES` is a notch open to the surface. Directions are degrees from
    /// any mark that all of one section share.
    #[arg(long, value_name = "POCKET")]
    pub pocket: Vec<String>,
    /// Direction of the load, from the same mark as the pockets' [default: the worst]
    #[arg(
        long,
        value_name = "DEGREES",
        requires = "pocket",
        allow_negative_numbers = true
    )]
    pub load_direction: Option<f64>,
    /// What the pole is and must bear
    #[command(flatten)]
    pub capacity: CapacityArgs,
    /// Unit of the lengths: mm, cm, m, in or ft
    #[arg(long, value_name = "UNIT", default_value = "mm", value_parser = unit)]
    pub unit: LengthUnit,
    /// Write JSON (lengths in mm)
    #[arg(long)]
    pub json: bool,
}

/// A length without its unit.
fn number(text: &str) -> Result<f64, String> {
    text.parse().map_err(|_| {
        "no plain number: write 12 and give the unit of all lengths with --unit in".to_owned()
    })
}

/// The unit that a word names.
fn unit(word: &str) -> Result<LengthUnit, String> {
    LengthUnit::from_word(word).ok_or_else(|| {
        let words = LengthUnit::ALL.map(LengthUnit::word).join(", ");
        format!("no unit of length: one of {words}")
    })
}

#[derive(Serialize)]
struct Answer {
    remaining_strength: f64,
    equivalent_circumference_mm: f64,
    original_circumference_mm: f64,
    diameter_left_mm: f64,
    hollow_diameter_mm: f64,
    below_two_thirds: bool,
    #[serde(flatten)]
    pockets: Option<pocket::Directions>,
    #[serde(flatten)]
    capacity: Option<Capacity>,
    caution: &'static str,
}

/// Works out the section and writes it.
///
/// # Errors
/// When the numbers describe no section, or `out` cannot be written.
pub fn run(args: &StrengthArgs, out: &mut impl Write) -> Result<(), Error> {
    let asked = Asked::read(&args.capacity, args.unit)?;
    let section = section(args, &asked)?;
    let pockets = args.pocket.iter().map(|text| pocket::read(text, args.unit));
    let pockets = pockets.collect::<Result<Vec<Pocket>, Error>>()?;
    let pocketed = with_pockets(args, section, &pockets)?;
    let direction = pocketed.map(|left| pocket::directions(&left, args.load_direction));
    let strength = match (&pocketed, &direction) {
        (Some(left), Some(towards)) => {
            let bending = left.bending(towards.load_direction_degrees);
            bending.remaining_strength
        }
        _ => section.remaining_strength(),
    };
    let original = section.diameter.circumference_of_diameter();
    let answer = Answer {
        remaining_strength: strength,
        equivalent_circumference_mm: reduced_circumference(original, strength).0,
        original_circumference_mm: original.0,
        diameter_left_mm: section.outer_diameter().0,
        hollow_diameter_mm: 2.0 * section.hollow_radius.0,
        below_two_thirds: strength <= REFERENCE_STRENGTH,
        pockets: direction,
        capacity: asked.capacity(&args.capacity, section.diameter, strength)?,
        caution: CAUTION,
    };
    let text = if args.json {
        // Finite numbers and one text: nothing here that JSON cannot hold.
        serde_json::to_string_pretty(&answer).unwrap_or_default() + "\n"
    } else {
        working(
            args,
            &asked,
            &section,
            &bending_lines(args, &pockets, pocketed, &answer),
            &answer,
        )
    };
    written(out.write_all(text.as_bytes()))
}

/// What the pockets leave of the section; nothing to say without pockets.
fn with_pockets(
    args: &StrengthArgs,
    section: Section,
    pockets: &[Pocket],
) -> Result<Option<PocketedSection>, Error> {
    if args
        .load_direction
        .is_some_and(|degrees| !degrees.is_finite())
    {
        return Err(Error::Argument {
            what: "--load-direction is no direction".to_owned(),
            help: "degrees from the mark that the pockets' directions are measured from".to_owned(),
        });
    }
    if pockets.is_empty() {
        return Ok(None);
    }
    let left = Mm(section.outer_diameter().0 / 2.0);
    PocketedSection::new(section, pockets)
        .map(Some)
        .map_err(|(place, misfit)| pocket::misfit(&args.pocket[place], misfit, left, args.unit))
}

/// The section that the arguments describe, or what is wrong with them.
fn section(args: &StrengthArgs, asked: &Asked) -> Result<Section, Error> {
    let of_class = || asked.least_diameter();
    let diameter = match args.diameter {
        Some(given) => length(args, "--diameter", given)?,
        None => of_class()?.unwrap_or_default(),
    };
    if diameter < DIAMETERS[0] || diameter > DIAMETERS[1] {
        let what = format!(
            "--diameter {} {} is no pole",
            args.diameter.unwrap_or_default(),
            args.unit.word()
        );
        return Err(Error::Argument {
            what,
            help: "50 mm to 2 m are poles; name the unit with --unit mm, cm, m, in or ft"
                .to_owned(),
        });
    }
    let radius = diameter.0 / 2.0;
    let depth = match args.outside_decay_depth {
        Some(value) => length(args, "--outside-decay-depth", value)?,
        None => Mm(0.0),
    };
    let mut shells = Vec::with_capacity(args.sound_shell.len());
    for reading in &args.sound_shell {
        shells.push(length(args, "--sound-shell", *reading)?);
    }
    let too_much = |option: &str, value: f64, room: Mm| Error::Argument {
        what: format!(
            "{option} {value} {} is more than the radius left",
            args.unit.word()
        ),
        help: format!(
            "at most {} here; a shell is measured on what the outside decay left",
            written_length(args.unit, room)
        ),
    };
    let slack = 1e-9 * radius;
    let room = Mm(radius - depth.0);
    let too_thick = |(_, shell): &(&f64, &Mm)| shell.0 > room.0 + slack;
    let readings = || args.sound_shell.iter().zip(&shells);
    match (args.outside_decay_depth, readings().find(too_thick)) {
        (Some(value), _) if depth.0 > radius + slack => {
            Err(too_much("--outside-decay-depth", value, Mm(radius)))
        }
        (_, Some((value, _))) => Err(too_much("--sound-shell", *value, room)),
        _ => Ok(Section::measured(diameter, depth, mean(&shells))),
    }
}

/// The mean of several readings, as inspections take it; `None` where there is none.
fn mean(readings: &[Mm]) -> Option<Mm> {
    let sum: f64 = readings.iter().map(|reading| reading.0).sum();
    (!readings.is_empty()).then(|| Mm(sum / readings.len() as f64))
}

fn length(args: &StrengthArgs, option: &str, value: f64) -> Result<Mm, Error> {
    if value.is_finite() && value >= 0.0 {
        return Ok(args.unit.read(value));
    }
    Err(Error::Argument {
        what: format!("{option} {value} is no length"),
        help: "a number of at least 0".to_owned(),
    })
}

/// A length as the owner's unit writes it.
pub(super) fn written_length(unit: LengthUnit, length: Mm) -> String {
    let decimals = match unit {
        LengthUnit::Millimetre => 0,
        LengthUnit::Centimetre => 1,
        LengthUnit::Inch => 2,
        LengthUnit::Metre | LengthUnit::Foot => 3,
    };
    format!("{:.decimals$} {}", unit.write(length), unit.word())
}

/// The line that gives the strength, and with pockets those that lead to it.
fn bending_lines(
    args: &StrengthArgs,
    pockets: &[Pocket],
    pocketed: Option<PocketedSection>,
    answer: &Answer,
) -> Vec<String> {
    let write = |length: f64| written_length(args.unit, Mm(length));
    let (Some(left), Some(towards)) = (pocketed, &answer.pockets) else {
        return vec![format!(
            "Remaining strength: (d^4 - h^4) / (d D^3) with D = {}, d = {}, h = {}: {:.3} of the original.",
            write(answer.original_circumference_mm / std::f64::consts::PI),
            write(answer.diameter_left_mm),
            write(answer.hollow_diameter_mm),
            answer.remaining_strength
        )];
    };
    pocket::working(pockets, &left, towards, args.unit)
}

/// The working, step by step.
fn working(
    args: &StrengthArgs,
    asked: &Asked,
    section: &Section,
    bending: &[String],
    answer: &Answer,
) -> String {
    let write = |length: Mm| written_length(args.unit, length);
    let new = section.diameter;
    let (left, hollow) = (section.outer_diameter(), Mm(answer.hollow_diameter_mm));
    let mut lines = asked.class_working();
    lines.push(format!(
        "When new: diameter {}, circumference {}.",
        write(new),
        write(new.circumference_of_diameter())
    ));
    if section.outside_depth.0 > 0.0 {
        lines.push(format!(
            "Outside decay {} deep all round leaves a diameter of {}.",
            write(section.outside_depth),
            write(left)
        ));
    }
    if let [first, rest @ ..] = &args.sound_shell[..]
        && !rest.is_empty()
    {
        let least = rest
            .iter()
            .fold(*first, |least, reading| least.min(*reading));
        lines.push(format!(
            "Of {} readings of the sound shell the mean counts for the section; the least, {}, is what a rule on the shell looks \
             at. Where they differ much the hollow is off the centre: give it as an enclosed pocket.",
            args.sound_shell.len(),
            write(args.unit.read(least))
        ));
    }
    if !args.sound_shell.is_empty() {
        lines.push(format!(
            "A sound shell of {} on that leaves a centred hollow {} across.",
            write(section.sound_shell()),
            write(hollow)
        ));
    }
    lines.extend_from_slice(bending);
    lines.push(format!(
        "A solid sound section of the same strength has a circumference of {}.",
        write(Mm(answer.equivalent_circumference_mm))
    ));
    let at_limit = |mode| Section::at_progress(new, mode, 1.0);
    lines.push(format!(
        "A rule of two thirds of the original strength {}; at this diameter it is reached by {} of outside decay alone, \
         or by a hollow that leaves a shell of {}.",
        if answer.below_two_thirds {
            "rejects this section"
        } else {
            "does not reject this section"
        },
        write(at_limit(Mode::External).outside_depth),
        write(at_limit(Mode::Internal).sound_shell())
    ));
    if let Some(capacity) = &answer.capacity {
        lines.extend(asked.working(capacity, new, answer.remaining_strength));
    }
    lines.push(format!("Caution: {CAUTION}"));
    lines.join("\n") + "\n"
}

#[cfg(test)]
mod tests {
    use super::*;

    fn args(diameter: f64, depth: Option<f64>, shell: Option<f64>) -> StrengthArgs {
        StrengthArgs {
            diameter: Some(diameter),
            outside_decay_depth: depth,
            sound_shell: Vec::from_iter(shell),
            pocket: Vec::new(),
            load_direction: None,
            capacity: CapacityArgs::default(),
            unit: LengthUnit::Millimetre,
            json: false,
        }
    }

    fn text(args: &StrengthArgs) -> String {
        let mut out = Vec::new();
        run(args, &mut out).expect("a section");
        String::from_utf8(out).expect("text")
    }

    fn fault(args: &StrengthArgs) -> String {
        let mut out = Vec::new();
        let error = run(args, &mut out).expect_err("a fault").to_string();
        assert!(out.is_empty());
        error
    }

    #[test]
    fn the_working_ends_in_a_caution() {
        // (260^4 - 160^4) / (260 * 300^3) = 0.5576.
        let text = text(&args(300.0, Some(20.0), Some(50.0)));
        assert!(text.contains("0.558 of the original"), "{text}");
        assert!(text.contains("rejects this section"), "{text}");
        assert!(
            text.contains("19 mm of outside decay") && text.contains("shell of 36 mm"),
            "{text}"
        );
        assert!(text.ends_with(&format!("Caution: {CAUTION}\n")), "{text}");
    }

    #[test]
    fn of_several_shell_readings_the_mean_makes_the_section_and_the_least_is_told() {
        let mut several = args(300.0, Some(20.0), None);
        several.sound_shell = vec![60.0, 40.0, 55.0, 45.0];
        let told = text(&several);
        // Their mean is 50 mm: (260^4 - 160^4) / (260 * 300^3) = 0.5576.
        assert!(told.contains("0.558 of the original"), "{told}");
        assert!(
            told.contains("Of 4 readings") && told.contains("the least, 40 mm"),
            "{told}"
        );
        several.sound_shell[2] = 131.0;
        assert!(fault(&several).contains("--sound-shell 131 mm is more than the radius left"));
        let one = text(&args(300.0, Some(20.0), Some(50.0)));
        assert!(!one.contains("readings of the sound shell"), "{one}");
    }

    #[test]
    fn json_holds_the_contracts_keys() {
        let mut args = args(12.0, None, Some(3.0));
        args.unit = LengthUnit::Inch;
        args.json = true;
        let answer: serde_json::Value = serde_json::from_str(&text(&args)).expect("JSON");
        // FIST 4-6 (1992), 5.3.3: 12 in with a shell of 3 in keeps 0.9375.
        let strength = answer["remaining_strength"].as_f64().expect("a number");
        assert!((strength - 0.9375).abs() < 1e-12);
        let girth = answer["equivalent_circumference_mm"]
            .as_f64()
            .expect("a number");
        // 12 in x pi x 0.9375^(1/3) = 937.2 mm.
        assert!((girth - 937.2).abs() < 0.05, "{girth}");
        assert_eq!(answer["below_two_thirds"], false);
    }

    #[test]
    fn a_class_stands_in_for_a_diameter() {
        let mut args = args(0.0, None, Some(2.0));
        args.diameter = None;
        args.unit = LengthUnit::Inch;
        args.capacity = CapacityArgs {
            length: Some("40ft".to_owned()),
            class: Some("4".to_owned()),
            species: Some("southern_pine".to_owned()),
            ..CapacityArgs::default()
        };
        // 33.5 in around are 10.66 in across; a shell of 2 in leaves 1 - (6.66 / 10.66)^4 = 0.848.
        let text = text(&args);
        for part in [
            "Class 4, 40.0 ft long",
            "diameter 10.66 in",
            "0.848 of the original",
            "79401 ft-lb",
        ] {
            assert!(text.contains(part), "{part} in {text}");
        }
        assert!(text.ends_with(&format!("Caution: {CAUTION}\n")), "{text}");
    }

    #[test]
    fn numbers_that_are_no_section_are_named() {
        let told = fault(&args(300.0, None, Some(151.0)));
        assert!(
            told.contains("--sound-shell 151 mm is more than the radius left"),
            "{told}"
        );
        assert!(told.contains("at most 150 mm"), "{told}");
        let told = fault(&args(300.0, Some(20.0), Some(140.0)));
        assert!(told.contains("at most 130 mm"), "{told}");
        assert!(fault(&args(300.0, Some(151.0), None)).contains("--outside-decay-depth 151"));
        assert!(fault(&args(300.0, Some(-1.0), None)).contains("-1 is no length"));
        assert!(fault(&args(300.0, None, Some(f64::NAN))).contains("NaN is no length"));
        assert!(fault(&args(f64::INFINITY, None, None)).contains("inf is no length"));
        assert!(fault(&args(12.0, None, None)).contains("name the unit"));
        assert!(fault(&args(0.0, None, None)).contains("no pole"));
    }

    fn pocketed(pockets: &[&str], load: Option<f64>, unit: LengthUnit) -> StrengthArgs {
        StrengthArgs {
            pocket: pockets.iter().map(|text| (*text).to_owned()).collect(),
            load_direction: load,
            unit,
            ..args(unit.write(Mm(12.0 * 25.4)), None, None)
        }
    }

    #[test]
    fn pockets_show_their_working_in_the_owners_unit() {
        // A void of radius 1.5 in, 3 in off the centre of a 12 in pole: I = 946.04 in4, c = 6.2 in, 0.899 left.
        let void = "enclosed:diameter=3,from_centre=3,direction=30";
        let worst = text(&pocketed(&[void], None, LengthUnit::Inch));
        for part in [
            "An enclosed pocket 3.00 in across, its centre 3.00 in from the pole's, towards 30 degrees.",
            "Load along 30.0 degrees, the worst direction.",
            "I = 946.0 in^4 about the centroid, c = 6.20 in",
            "0.899 of the original",
            "does not reject this section",
        ] {
            assert!(worst.contains(part), "{part} in {worst}");
        }
        let across = text(&pocketed(&[void], Some(120.0), LengthUnit::Inch));
        // Across, I = pi (6^4 - 1.5^4) / 4 = 1013.9 in4 and c = 6 in: 1 - (1.5 / 6)^4 = 0.996.
        assert!(across.contains("0.996 of the original"), "{across}");
        assert!(
            across.contains("the worst is 30.0 degrees and leaves 0.899"),
            "{across}"
        );
    }

    #[test]
    fn pockets_that_do_not_fit_are_named() {
        let fault = |pocket| fault(&pocketed(&[pocket], None, LengthUnit::Inch));
        let told = fault("enclosed:diameter=4,from_centre=5,direction=0");
        assert!(
            told.contains("direction=0 reaches beyond the surface left"),
            "{told}"
        );
        assert!(told.contains("at most 6.00 in together"), "{told}");
        assert!(fault("exposed:width=13,depth=1,direction=0").contains("at most 12.00 in wide"));
        assert!(fault("exposed:width=1,depth=7,direction=0").contains("at most 6.00 in deep"));
    }
}
