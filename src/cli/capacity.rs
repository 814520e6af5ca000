//! What a pole bears at the groundline and what it must bear, as `polewright strength` is asked for it.
//!
//! Owns the flags for class, length, species and loads, and their working; the formulas are those of
//! [`crate::wood::sizes`] and [`crate::wood::loads`]. Mean and characteristic strengths are never mixed: one kind a run.

use serde::Serialize;

use super::strength::written_length;
use crate::Error;
use crate::intake::{read_length_text, read_moment};
use crate::models::text::built_in;
use crate::pole::{PoleClass, Species};
use crate::units::{LengthUnit, Mm, MomentUnit, NewtonMetre, Pressure, Stress};
use crate::wood::FailureHazard;
use crate::wood::loads::{Wires, moment_on_pole};
use crate::wood::section::REFERENCE_STRENGTH;
use crate::wood::sizes::{FibreStrength, Sizes};

/// Flags for what the pole is and what it must bear.
#[derive(Debug, Clone, Default, clap::Args)]
pub struct CapacityArgs {
    /// Length of the pole, with its unit or in that of --unit: 40ft
    #[arg(long, value_name = "LENGTH")]
    pub length: Option<String>,
    /// Class of the American tables, H6 to H1, 1 to 7, 9 or 10; with --length its least size stands in for --diameter
    #[arg(long, value_name = "CLASS", requires = "length")]
    pub class: Option<String>,
    /// Species group or timber, whose mean strength counts: `pine`, `douglas_fir`, `western_redcedar`, `radiata_pine`
    #[arg(long, value_name = "SPECIES")]
    pub species: Option<String>,
    /// Characteristic (5 %) bending strength in megapascals, in place of the mean strength of a species' classes
    #[arg(long, value_name = "MPA")]
    pub characteristic_strength: Option<f64>,
    /// Bending moment at the groundline required of the pole when new: `37 kNm` or `"27300 ft-lb"`
    #[arg(long, value_name = "MOMENT", conflicts_with_all = ["wind_pressure", "wire"])]
    pub required_moment: Option<String>,
    /// Wind pressure on pole and wires: 430Pa or 9psf; needs --length and --class
    #[arg(long, value_name = "PRESSURE", requires = "class")]
    pub wind_pressure: Option<String>,
    /// Wires: `count=3,diameter=0.398in,ice=0.5in,span=150ft,height=30ft`; may be given several times
    #[arg(long, value_name = "WIRES", requires = "wind_pressure")]
    pub wire: Vec<String>,
    /// What the moment of the wind is multiplied by
    #[arg(
        long,
        value_name = "FACTOR",
        default_value_t = 1.0,
        requires = "wind_pressure"
    )]
    pub load_factor: f64,
}

/// What the flags say of the pole.
pub struct Asked {
    sizes: Sizes,
    class: Option<(PoleClass, Mm)>,
    species: Option<Species>,
    /// Name of the timber, and its strength.
    strength: Option<(String, FibreStrength)>,
    unit: LengthUnit,
}

/// Bending moments, as JSON shows them.
#[derive(Debug, Clone, Serialize)]
pub struct Capacity {
    /// `mean` or `characteristic (5 %)`.
    strength_kind: &'static str,
    fibre_strength_mpa: f64,
    #[serde(rename = "capacity_when_new_nm")]
    when_new_nm: f64,
    #[serde(rename = "capacity_left_nm")]
    left_nm: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    required_moment_nm: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    use_of_capacity_when_new: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    below_two_thirds_of_required: Option<bool>,
    #[serde(skip_serializing_if = "Option::is_none")]
    rule_that_binds: Option<&'static str>,
}

fn fault(what: String, help: &str) -> Error {
    Error::Argument {
        what,
        help: help.to_owned(),
    }
}

impl Asked {
    /// Reads the flags.
    ///
    /// # Errors
    /// When one of them names no class, species, length or strength.
    pub fn read(args: &CapacityArgs, unit: LengthUnit) -> Result<Self, Error> {
        let sizes = built_in()?.sizes;
        let length = args
            .length
            .as_deref()
            .map(|text| length_of("--length", text, unit));
        let length = length.transpose()?;
        let class = args.class.as_deref().map(|text| {
            PoleClass::from_word(text.trim()).ok_or_else(|| {
                fault(
                    format!("--class {text} is no class"),
                    "H6 to H1, 1 to 7, 9 or 10",
                )
            })
        });
        let species = args.species.as_deref().map(|text| {
            sizes.timber(&text.trim().to_lowercase()).ok_or_else(|| {
                let names: Vec<&str> = sizes
                    .timbers
                    .iter()
                    .map(|timber| timber.name.as_str())
                    .collect();
                fault(
                    format!("--species {text}: no mean strength is known"),
                    &format!(
                        "pine, douglas_fir, western_redcedar, eucalypt, or one of {}",
                        names.join(", ")
                    ),
                )
            })
        });
        let timber = species.transpose()?.cloned();
        let characteristic = args.characteristic_strength.map(|mpa| {
            if (1.0..=200.0).contains(&mpa) {
                return Ok(FibreStrength::Characteristic {
                    stress: Stress(mpa),
                });
            }
            Err(fault(
                format!("--characteristic-strength {mpa} MPa is no wood's"),
                "1 to 200 MPa",
            ))
        });
        let strength = match characteristic.transpose()? {
            Some(given) => Some(("as given".to_owned(), given)),
            None => timber
                .as_ref()
                .map(|timber| (timber.name.clone(), timber.strength)),
        };
        Ok(Self {
            sizes,
            class: class.transpose()?.zip(length),
            species: timber.map(|timber| timber.species),
            strength,
            unit,
        })
    }

    /// Least groundline diameter of the class, where class and length are given.
    ///
    /// # Errors
    /// When the tables have no such size.
    pub fn least_diameter(&self) -> Result<Option<Mm>, Error> {
        let Some((class, length)) = self.class else {
            return Ok(None);
        };
        let known = |species: &Species| self.sizes.dimensions_of(*species).is_some();
        let Some(species) = self.species.filter(known) else {
            return Err(fault(
                format!(
                    "--class {} has no dimensions without a species of its tables",
                    class.word()
                ),
                "--species pine, douglas_fir or western_redcedar; or give --diameter",
            ));
        };
        let least = self.sizes.least_groundline(species, class, length);
        least
            .map(|girth| Some(girth.diameter_of_circumference()))
            .ok_or_else(|| {
                fault(
                    format!(
                        "no class is made {} long",
                        written_length(self.unit, length)
                    ),
                    "20 to 125 ft",
                )
            })
    }

    /// The lines that lead from the class to its least size, and how thick such a pole probably is.
    pub fn class_working(&self) -> Vec<String> {
        let Some(((class, length), species)) = self.class.zip(self.species) else {
            return Vec::new();
        };
        let write = |length: Mm| written_length(self.unit, length);
        let at_six = self.sizes.least_circumference(species, class, length);
        let likely = self.sizes.diameter_of_class(Some(species), class, length);
        let (Some(at_six), Some(likely)) = (at_six, likely) else {
            return Vec::new();
        };
        let ground = self.sizes.groundline_from_butt(length);
        let along = |length: Mm| match self.unit {
            LengthUnit::Inch | LengthUnit::Foot => {
                format!("{:.1} ft", LengthUnit::Foot.write(length))
            }
            LengthUnit::Millimetre | LengthUnit::Centimetre | LengthUnit::Metre => {
                format!("{:.2} m", LengthUnit::Metre.write(length))
            }
        };
        vec![format!(
            "Class {}, {} long: at least {} around 6 ft from the butt; the groundline is {} from the butt. Such poles are \
             probably {} across there, give or take {:.0} %; the least is reckoned with unless --diameter is given.",
            class.word(),
            along(length),
            write(at_six),
            along(ground),
            write(likely.median),
            100.0 * likely.ln_sd
        )]
    }

    /// Capacity and requirement of a pole of this diameter when new, of whose strength `left` remains.
    ///
    /// # Errors
    /// When a load cannot be read, or there is one without a strength to hold it to.
    pub fn capacity(
        &self,
        args: &CapacityArgs,
        new: Mm,
        left: f64,
    ) -> Result<Option<Capacity>, Error> {
        let required = self.required(args, new)?;
        let Some((_, strength)) = &self.strength else {
            if required.is_some() {
                return Err(fault(
                    "a required moment without a strength to hold it to".to_owned(),
                    "--species pine, ... for a mean strength, or --characteristic-strength in MPa",
                ));
            }
            return Ok(None);
        };
        let whole = self
            .sizes
            .capacity(new.circumference_of_diameter(), strength.stress());
        let share = required.map(|required| required.0 / whole.0);
        Ok(Some(Capacity {
            strength_kind: strength.word(),
            fibre_strength_mpa: strength.stress().0,
            when_new_nm: whole.0,
            left_nm: whole.0 * left,
            required_moment_nm: required.map(|required| required.0),
            use_of_capacity_when_new: share,
            below_two_thirds_of_required: share.map(|share| left <= REFERENCE_STRENGTH * share),
            rule_that_binds: share.map(|share| {
                if share > 1.0 {
                    "two thirds of the required strength"
                } else {
                    "two thirds of the original strength"
                }
            }),
        }))
    }

    /// The moment required of the pole when new: as given, or that of the wind.
    fn required(&self, args: &CapacityArgs, new: Mm) -> Result<Option<NewtonMetre>, Error> {
        if let Some(text) = &args.required_moment {
            let moment = read_moment(text).filter(|moment| moment.0 > 0.0);
            return moment.map(Some).ok_or_else(|| {
                fault(
                    format!("--required-moment {text} is no moment"),
                    "37 kNm, 37000 Nm or 27300 ft-lb",
                )
            });
        }
        let Some(text) = &args.wind_pressure else {
            return Ok(None);
        };
        let pressure = read_pressure(text).ok_or_else(|| {
            fault(
                format!("--wind-pressure {text} is no pressure"),
                "430Pa or 9psf",
            )
        })?;
        let Some((class, length)) = self.class else {
            return Ok(None);
        };
        if !(args.load_factor.is_finite() && args.load_factor > 0.0) {
            return Err(fault(
                format!("--load-factor {} cannot be", args.load_factor),
                "above 0",
            ));
        }
        let height = Mm(length.0 - self.sizes.groundline_from_butt(length).0);
        let top = self.sizes.classes[class.index()]
            .top_circumference
            .diameter_of_circumference();
        let mut moment = moment_on_pole(pressure, height, new, top).0;
        for text in &args.wire {
            moment += read_wires(text, self.unit)?.moment(pressure).0;
        }
        Ok(Some(NewtonMetre(args.load_factor * moment)))
    }

    /// The lines that show capacity and requirement.
    pub fn working(&self, capacity: &Capacity, new: Mm, left: f64) -> Vec<String> {
        let unit = match self.unit {
            LengthUnit::Inch | LengthUnit::Foot => MomentUnit::FootPound,
            LengthUnit::Millimetre | LengthUnit::Centimetre | LengthUnit::Metre => {
                MomentUnit::KilonewtonMetre
            }
        };
        let write = |newton_metres: f64| {
            let decimals = usize::from(unit != MomentUnit::FootPound);
            format!(
                "{:.decimals$} {}",
                unit.write(NewtonMetre(newton_metres)),
                unit.word()
            )
        };
        let Some((name, strength)) = &self.strength else {
            return Vec::new();
        };
        let kind = match strength {
            FibreStrength::Mean { cov, .. } => format!(
                "mean, COV {cov}: 1 pole in 20 bears less than {:.2} of it",
                FailureHazard::new(1.0, *cov).strength_ratio(0.05)
            ),
            FibreStrength::Characteristic { .. } => {
                "characteristic: 1 pole in 20 bears less; never to be held to a mean".to_owned()
            }
        };
        let mut lines = vec![format!(
            "Capacity when new: k F C^3 with F = {:.1} MPa ({name}; {kind}), C = {}: {}; left of it {left:.3}, {}.",
            strength.stress().0,
            written_length(self.unit, new.circumference_of_diameter()),
            write(capacity.when_new_nm),
            write(capacity.left_nm)
        )];
        let required = capacity
            .required_moment_nm
            .zip(capacity.use_of_capacity_when_new);
        if let (Some((required, share)), Some(binds)) = (required, capacity.rule_that_binds) {
            lines.push(format!(
                "Required when new: {}, {share:.3} of the capacity. Two thirds of the required strength are {:.3} of the \
                 original: that rule {} this section. Of the two readings of the two-thirds rule the stricter binds: {binds}.",
                write(required),
                REFERENCE_STRENGTH * share,
                if capacity.below_two_thirds_of_required == Some(true) {
                    "rejects"
                } else {
                    "does not reject"
                }
            ));
        }
        lines
    }
}

fn length_of(option: &str, text: &str, unit: LengthUnit) -> Result<Mm, Error> {
    read_length_text(text, unit)
        .filter(|length| length.0 > 0.0)
        .ok_or_else(|| {
            fault(
                format!("{option} {text} is no length"),
                "40ft, 12.2m, or a number in the unit of --unit",
            )
        })
}

/// A pressure in pascals, or with its unit.
fn read_pressure(text: &str) -> Option<Pressure> {
    let text = text.trim();
    let end = text.rfind(|c: char| c.is_ascii_digit())? + 1;
    let (number, unit) = text.split_at(end);
    let value: f64 = number
        .trim()
        .parse()
        .ok()
        .filter(|value: &f64| value.is_finite() && *value > 0.0)?;
    match unit.trim().to_lowercase().as_str() {
        "" | "pa" => Some(Pressure(value)),
        "kpa" => Some(Pressure(1000.0 * value)),
        "psf" => Some(Pressure::of_psf(value)),
        _ => None,
    }
}

/// Wires as the command line writes them.
fn read_wires(text: &str, unit: LengthUnit) -> Result<Wires, Error> {
    let mut wires = Wires {
        count: 1.0,
        diameter: Mm(0.0),
        ice: Mm(0.0),
        span: Mm(0.0),
        height: Mm(0.0),
    };
    let wrong = |what: &str| {
        fault(
            format!("--wire {text}: {what}"),
            "write count=3,diameter=0.398in,ice=0.5in,span=150ft,height=30ft; ice may be left out, and count is then 1",
        )
    };
    for part in text.split(',').filter(|part| !part.trim().is_empty()) {
        let (key, value) = part.split_once('=').unwrap_or((part, ""));
        let length = || {
            read_length_text(value, unit)
                .filter(|length| length.0 >= 0.0)
                .ok_or_else(|| wrong(&format!("{} `{}` is no length", key.trim(), value.trim())))
        };
        match key.trim() {
            "count" => {
                let count = value
                    .trim()
                    .parse()
                    .ok()
                    .filter(|count: &f64| (0.0..=1000.0).contains(count));
                wires.count = count.ok_or_else(|| wrong("count is no number"))?;
            }
            "diameter" => wires.diameter = length()?,
            "ice" => wires.ice = length()?,
            "span" => wires.span = length()?,
            "height" => wires.height = length()?,
            other => return Err(wrong(&format!("has no `{other}`"))),
        }
    }
    if wires.diameter.0 <= 0.0 || wires.span.0 <= 0.0 || wires.height.0 <= 0.0 {
        return Err(wrong("needs diameter, span and height"));
    }
    Ok(wires)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn asked(args: &CapacityArgs, unit: LengthUnit) -> (Asked, Mm) {
        let asked = Asked::read(args, unit).expect("a pole");
        let new = asked.least_diameter().expect("a size").expect("a class");
        (asked, new)
    }

    fn class_4() -> CapacityArgs {
        CapacityArgs {
            length: Some("40ft".to_owned()),
            class: Some("4".to_owned()),
            species: Some("pine".to_owned()),
            load_factor: 1.0,
            ..CapacityArgs::default()
        }
    }

    #[test]
    fn a_class_4_pole_of_40_feet_bears_its_load() {
        // 0.000264 x 8000 x 33.5^3 = 79401 ft-lb; two thirds of 60000 / 79401 are 0.504.
        let args = CapacityArgs {
            required_moment: Some("60000 ft-lb".to_owned()),
            ..class_4()
        };
        let (asked, new) = asked(&args, LengthUnit::Inch);
        let capacity = asked
            .capacity(&args, new, 0.5)
            .expect("loads")
            .expect("a strength");
        let text = asked.working(&capacity, new, 0.5).join("\n");
        for part in [
            "79401 ft-lb",
            "1 pole in 20 bears less than 0.71",
            "0.756 of the capacity",
            "are 0.504 of the original: that rule rejects",
            "the stricter binds: two thirds of the original strength",
        ] {
            assert!(text.contains(part), "{part} in {text}");
        }
        let class = asked.class_working().join("\n");
        assert!(
            class.contains("at least 33.50 in around 6 ft from the butt"),
            "{class}"
        );
    }

    #[test]
    fn a_pole_too_weak_when_new_is_bound_by_what_is_required() {
        let args = CapacityArgs {
            required_moment: Some("120 kNm".to_owned()),
            ..class_4()
        };
        let (asked, new) = asked(&args, LengthUnit::Millimetre);
        let capacity = asked
            .capacity(&args, new, 0.7)
            .expect("loads")
            .expect("a strength");
        assert_eq!(
            capacity.rule_that_binds,
            Some("two thirds of the required strength")
        );
        // 120 / 107.65 = 1.115; two thirds of it 0.743.
        assert_eq!(capacity.below_two_thirds_of_required, Some(true));
    }

    #[test]
    fn the_answer_is_the_same_in_any_unit() {
        let mut seen: Option<f64> = None;
        for (length, moment, unit) in [
            ("40ft", "60000 ft-lb", LengthUnit::Inch),
            ("12.192 m", "81.34908 kNm", LengthUnit::Millimetre),
            ("12192", "81349.08 N m", LengthUnit::Millimetre),
            ("1219.2", "60,000 ft-lb", LengthUnit::Centimetre),
        ] {
            let args = CapacityArgs {
                length: Some(length.to_owned()),
                required_moment: Some(moment.to_owned()),
                ..class_4()
            };
            let (asked, new) = asked(&args, unit);
            let capacity = asked
                .capacity(&args, new, 0.5)
                .expect("loads")
                .expect("a strength");
            let share = capacity.use_of_capacity_when_new.expect("a requirement");
            // The moments above are written to eight digits.
            assert!(
                seen.is_none_or(|seen| (seen - share).abs() < 1e-7),
                "{unit:?}: {share}"
            );
            seen = Some(share);
        }
    }

    #[test]
    fn wind_on_pole_and_wires_adds_up() {
        // Bare pole 3472.7 ft-lb (9 psf, 34 ft, 33.5 and 21 in); a wire of 0.398 in with ice of 0.5 in takes
        // 9 x 1.398 / 12 = 1.0485 lb/ft, three over 150 ft at 30 ft 14154.8 ft-lb.
        let args = CapacityArgs {
            wind_pressure: Some("9psf".to_owned()),
            wire: vec!["count=3,diameter=0.398in,ice=0.5in,span=150ft,height=30ft".to_owned()],
            ..class_4()
        };
        let (asked, new) = asked(&args, LengthUnit::Inch);
        let required = asked.required(&args, new).expect("loads").expect("a wind");
        let foot_pounds = MomentUnit::FootPound.write(required);
        assert!((foot_pounds - 17_627.4).abs() < 0.5, "{foot_pounds}");
    }

    #[test]
    fn what_names_nothing_is_told() {
        let told = |args: CapacityArgs| {
            let asked = match Asked::read(&args, LengthUnit::Inch) {
                Ok(asked) => asked,
                Err(error) => return error.to_string(),
            };
            let new = match asked.least_diameter() {
                Ok(new) => new.unwrap_or(Mm(300.0)),
                Err(error) => return error.to_string(),
            };
            asked
                .capacity(&args, new, 1.0)
                .expect_err("a fault")
                .to_string()
        };
        let with = |change: fn(&mut CapacityArgs)| {
            let mut args = class_4();
            change(&mut args);
            told(args)
        };
        assert!(with(|args| args.class = Some("8".to_owned())).contains("--class 8 is no class"));
        assert!(with(|args| args.length = Some("tall".to_owned())).contains("--length tall"));
        assert!(with(|args| args.length = Some("130ft".to_owned())).contains("no class is made"));
        assert!(with(|args| args.species = Some("oak".to_owned())).contains("--species oak"));
        assert!(
            with(|args| args.species = Some("eucalypt".to_owned())).contains("has no dimensions")
        );
        assert!(with(|args| args.required_moment = Some("5 kg".to_owned())).contains("no moment"));
        assert!(with(|args| args.characteristic_strength = Some(0.0)).contains("no wood's"));
        assert!(with(|args| args.wind_pressure = Some("9 bar".to_owned())).contains("no pressure"));
        let wires = with(|args| {
            args.wind_pressure = Some("9psf".to_owned());
            args.wire = vec!["diameter=1in,span=50ft".to_owned()];
        });
        assert!(wires.contains("needs diameter, span and height"), "{wires}");
        let bare = told(CapacityArgs {
            required_moment: Some("5 kNm".to_owned()),
            ..CapacityArgs::default()
        });
        assert!(bare.contains("without a strength"), "{bare}");
    }

    #[test]
    fn a_characteristic_strength_is_called_one() {
        let args = CapacityArgs {
            characteristic_strength: Some(40.0),
            species: None,
            class: None,
            ..class_4()
        };
        let asked = Asked::read(&args, LengthUnit::Millimetre).expect("a pole");
        let capacity = asked
            .capacity(&args, Mm(300.0), 1.0)
            .expect("loads")
            .expect("a strength");
        assert_eq!(capacity.strength_kind, "characteristic (5 %)");
        // 0.003168 x 40 x (300 pi)^3 / 1e6 = 106.1 kN m.
        let text = asked.working(&capacity, Mm(300.0), 1.0).join("\n");
        assert!(
            text.contains("106.1 kNm") && text.contains("never to be held to a mean"),
            "{text}"
        );
    }
}
