//! What a pole's size says of its groundline: least dimensions of classes, the usual excess over them, fibre strength.
//!
//! Owns the formulas and holds the figures, which come from `models/pole-sizes.toml` with their sources; knows no list
//! and no file. A class is a horizontal load `P`, 2 ft below the top: with a groundline `g` from the butt the moment
//! there is `P (L - g - 2 ft)`, the circumference that carries it `C = (M / (k F))^(1/3)`, and 6 ft from the butt it is
//! `C + taper (g - 6 ft)`, raised to the next half inch (American National Standard O5.1). Mean strengths and
//! lower-tail (characteristic) strengths are kept apart by their type.

use crate::maths::{cbrt, exp, ln};
use crate::pole::{PoleClass, Species};
use crate::units::{LengthUnit, Mm, Newton, NewtonMetre, Stress};

/// Distance from the butt at which a class's least circumference is measured.
const MEASURED_FROM_BUTT: Mm = Mm(6.0 * 304.8);

/// Lengths in feet for which classes are made; what lies outside is no size of this system.
pub const CLASS_LENGTHS_FT: [f64; 2] = [20.0, 125.0];

/// Lengths of classes come in steps of so many feet.
pub const LENGTH_STEP_FT: f64 = 5.0;

/// Fibre strength, and which kind of value it is. About 0.7 lies between the two kinds; they are never mixed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum FibreStrength {
    /// Mean of poles of a group, with its coefficient of variation.
    Mean {
        /// Strength.
        stress: Stress,
        /// Coefficient of variation.
        cov: f64,
    },
    /// The value that 95 of 100 poles exceed, as metric standards state it.
    Characteristic {
        /// Strength.
        stress: Stress,
    },
}

impl FibreStrength {
    /// The stress, whichever kind it is.
    pub const fn stress(self) -> Stress {
        match self {
            Self::Mean { stress, .. } | Self::Characteristic { stress } => stress,
        }
    }

    /// The kind in words.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Mean { .. } => "mean",
            Self::Characteristic { .. } => "characteristic (5 %)",
        }
    }
}

/// A load and a circumference: what a class is.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct ClassFigures {
    /// Least circumference of the top.
    pub top_circumference: Mm,
    /// Horizontal load near the top.
    pub tip_load: Newton,
}

/// Dimensions of one species.
#[derive(Debug, Clone, PartialEq)]
pub struct Dimensions {
    /// The species group.
    pub species: Species,
    /// Mean fibre strength that its classes are made with.
    pub fibre: Stress,
    /// Circumference lost from 6 ft above the butt towards the top, mm a mm.
    pub taper: f64,
    /// Printed least circumferences 6 ft from the butt: length in feet, and one for each class from class 1 on.
    pub printed: Vec<(f64, Vec<Mm>)>,
}

/// Mean strength of a timber.
#[derive(Debug, Clone, PartialEq)]
pub struct Timber {
    /// Name.
    pub name: String,
    /// Its species group.
    pub species: Species,
    /// Mean strength.
    pub strength: FibreStrength,
}

/// How thick a pole of unmeasured groundline probably is: `ln D ~ Normal(ln median, ln_sd)`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LikelyDiameter {
    /// Median.
    pub median: Mm,
    /// Standard deviation of the logarithm.
    pub ln_sd: f64,
}

/// All figures of sizes.
#[derive(Debug, Clone, PartialEq)]
pub struct Sizes {
    /// Distance of the load from the top.
    pub below_top: Mm,
    /// `k` of `M = k F C^3`: 1 / (32 pi^2) as the standard rounds it.
    pub bending_constant: f64,
    /// Step to which dimensions are raised.
    pub raised_to: Mm,
    /// By [`PoleClass::index`].
    pub classes: [ClassFigures; PoleClass::COUNT],
    /// Length and distance of its groundline from the butt, shortest first.
    pub groundline: Vec<(Mm, Mm)>,
    /// Species whose dimensions are known.
    pub dimensions: Vec<Dimensions>,
    /// From the least circumference of a class to the poles of it: mean and standard deviation of the logarithm.
    pub excess: [f64; 2],
    /// Growth of the diameter from top to groundline, mm a mm.
    pub top_taper: f64,
    /// Setting depth of poles given by their top diameter: share of the length, and what is added.
    pub setting_depth: (f64, Mm),
    /// Scatter of the logarithm of a groundline diameter that comes from the top.
    pub top_ln_sd: f64,
    /// Mean strengths.
    pub timbers: Vec<Timber>,
}

impl Sizes {
    /// Bending moment that a solid round section of this circumference carries.
    pub fn capacity(&self, circumference: Mm, stress: Stress) -> NewtonMetre {
        let modulus = self.bending_constant * circumference.0 * circumference.0 * circumference.0;
        NewtonMetre(modulus * stress.0 / 1000.0)
    }

    /// Distance of the groundline from the butt of a pole of this length.
    pub fn groundline_from_butt(&self, length: Mm) -> Mm {
        let after = self.groundline.partition_point(|row| row.0 < length);
        let (Some(above), below) = (self.groundline.get(after), after.checked_sub(1)) else {
            return self.groundline.last().map_or(Mm(0.0), |row| row.1);
        };
        let Some(below) = below.map(|place| self.groundline[place]) else {
            return above.1;
        };
        let share = (length.0 - below.0.0) / (above.0.0 - below.0.0);
        Mm(below.1.0 + share * (above.1.0 - below.1.0))
    }

    /// Moment at the groundline that a class's load makes.
    pub fn class_moment(&self, class: PoleClass, length: Mm) -> NewtonMetre {
        let arm = length.0 - self.groundline_from_butt(length).0 - self.below_top.0;
        NewtonMetre(self.classes[class.index()].tip_load.0 * arm.max(0.0) / 1000.0)
    }

    /// Circumference 6 ft from the butt by the load's formula, before it is raised; `None` for a species whose taper
    /// is not known.
    pub fn circumference_by_load(
        &self,
        species: Species,
        class: PoleClass,
        length: Mm,
    ) -> Option<Mm> {
        let own = self.dimensions_of(species)?;
        let moment = self.class_moment(class, length).0 * 1000.0;
        let groundline = cbrt(moment / (self.bending_constant * own.fibre.0));
        let up = self.groundline_from_butt(length).0 - MEASURED_FROM_BUTT.0;
        Some(Mm(groundline + own.taper * up))
    }

    /// Least circumference 6 ft from the butt: as printed, else by the load, raised. Lengths between the steps of 5 ft
    /// are interpolated. `None` for a species without dimensions and for lengths outside [`CLASS_LENGTHS_FT`].
    pub fn least_circumference(
        &self,
        species: Species,
        class: PoleClass,
        length: Mm,
    ) -> Option<Mm> {
        let feet = LengthUnit::Foot.write(length);
        let [shortest, longest] = CLASS_LENGTHS_FT;
        // Rounding of metres must not turn away the ends.
        if !(shortest - 0.05..=longest + 0.05).contains(&feet) {
            return None;
        }
        let feet = feet.clamp(shortest, longest);
        let step = (feet / LENGTH_STEP_FT).floor();
        let part = feet / LENGTH_STEP_FT - step;
        let lower = self.at_step(species, class, step)?;
        if part < 1e-9 {
            return Some(lower);
        }
        let upper = self.at_step(species, class, step + 1.0)?;
        Some(Mm(lower.0 + part * (upper.0 - lower.0)))
    }

    fn at_step(&self, species: Species, class: PoleClass, step: f64) -> Option<Mm> {
        let feet = step * LENGTH_STEP_FT;
        let own = self.dimensions_of(species)?;
        let row = own.printed.iter().find(|row| (row.0 - feet).abs() < 0.5);
        let first = PoleClass::from_word("1").map_or(0, PoleClass::index);
        let place = class.index().checked_sub(first);
        let printed = row
            .zip(place)
            .and_then(|((_, row), place)| row.get(place))
            .copied();
        printed.or_else(|| {
            let raw = self.circumference_by_load(species, class, LengthUnit::Foot.read(feet))?;
            // A hair below the step is the step.
            let steps = (raw.0 / self.raised_to.0 - 1e-9).ceil();
            Some(Mm(steps * self.raised_to.0))
        })
    }

    /// Least circumference at the groundline.
    pub fn least_groundline(&self, species: Species, class: PoleClass, length: Mm) -> Option<Mm> {
        let own = self.dimensions_of(species)?;
        let six_feet = self.least_circumference(species, class, length)?;
        let up = self.groundline_from_butt(length).0 - MEASURED_FROM_BUTT.0;
        Some(Mm(six_feet.0 - own.taper * up))
    }

    /// Groundline diameter when new of a pole of this class. A species without dimensions is any of those with.
    pub fn diameter_of_class(
        &self,
        species: Option<Species>,
        class: PoleClass,
        length: Mm,
    ) -> Option<LikelyDiameter> {
        let of = |species| {
            let least = self.least_groundline(species, class, length)?;
            Some(ln(least.diameter_of_circumference().0))
        };
        let [excess, own_sd] = self.excess;
        let own = species.filter(|own| self.dimensions_of(*own).is_some());
        let logarithms: Vec<f64> = match own {
            Some(own) => vec![of(own)?],
            None => self
                .dimensions
                .iter()
                .map(|any| of(any.species))
                .collect::<Option<_>>()?,
        };
        let count = logarithms.len() as f64;
        let mean = logarithms.iter().sum::<f64>() / count;
        let between = logarithms
            .iter()
            .map(|one| (one - mean) * (one - mean))
            .sum::<f64>()
            / count;
        Some(LikelyDiameter {
            median: Mm(exp(mean + excess)),
            ln_sd: (own_sd * own_sd + between).sqrt(),
        })
    }

    /// Groundline diameter when new of a pole of this length and top diameter.
    pub fn diameter_of_top(&self, top: Mm, length: Mm) -> LikelyDiameter {
        let (share, plus) = self.setting_depth;
        let above = (length.0 * (1.0 - share) - plus.0).max(0.0);
        LikelyDiameter {
            median: Mm(top.0 + self.top_taper * above),
            ln_sd: self.top_ln_sd,
        }
    }

    /// The dimensions of a species, where they are known.
    pub fn dimensions_of(&self, species: Species) -> Option<&Dimensions> {
        self.dimensions.iter().find(|own| own.species == species)
    }

    /// The strength of a timber by its name, or that of the timber which a species group's classes are made with; a
    /// group without classes takes its first timber.
    pub fn timber(&self, name: &str) -> Option<&Timber> {
        let by_name = self.timbers.iter().find(|timber| timber.name == name);
        by_name.or_else(|| {
            use crate::pole::Vocabulary;
            self.timber_of(Species::from_word(name)?)
        })
    }

    /// The timber that stands for a species group.
    pub fn timber_of(&self, species: Species) -> Option<&Timber> {
        let mut own = self
            .timbers
            .iter()
            .filter(|timber| timber.species == species);
        let of_classes = self.dimensions_of(species).map(|known| known.fibre);
        own.clone()
            .find(|timber| Some(timber.strength.stress()) == of_classes)
            .or_else(|| own.next())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sizes() -> Sizes {
        crate::models::text::built_in().expect("valid models").sizes
    }

    fn class(word: &str) -> PoleClass {
        PoleClass::from_word(word).expect("a class")
    }

    fn feet(value: f64) -> Mm {
        LengthUnit::Foot.read(value)
    }

    #[test]
    fn every_class_is_thinner_than_the_one_before_and_thicker_when_longer() {
        let sizes = sizes();
        for species in [Species::Pine, Species::WesternRedcedar, Species::DouglasFir] {
            for step in 4..=25 {
                let length = feet(5.0 * f64::from(step));
                let all: Vec<f64> = PoleClass::all()
                    .map(|class| {
                        let least = sizes.least_circumference(species, class, length);
                        least.expect("a size of the table").0
                    })
                    .collect();
                assert!(
                    all.windows(2).all(|pair| pair[1] < pair[0]),
                    "{species:?} {step}"
                );
                let longer = sizes.least_circumference(species, class("4"), feet(125.0));
                assert!(longer.expect("a size").0 >= all[class("4").index()]);
            }
        }
    }

    #[test]
    fn lengths_between_the_steps_lie_between_and_others_have_no_class() {
        let sizes = sizes();
        let at = |length| {
            sizes
                .least_circumference(Species::Pine, class("4"), feet(length))
                .map(|c| c.0)
        };
        // 33.5 in at 40 ft and 35 in at 45 ft: 34.1 in at 42.
        assert!((at(42.0).expect("a size") - 34.1 * 25.4).abs() < 1e-9);
        assert_eq!(at(19.0), None);
        assert_eq!(at(126.0), None);
        // 12.2 m are 40 ft but for a hair.
        let metric = sizes.least_circumference(Species::Pine, class("4"), Mm(12_192.0));
        assert_eq!(metric.map(|c| c.0), at(40.0));
    }

    #[test]
    fn a_pole_is_a_little_thicker_than_its_class_asks() {
        let sizes = sizes();
        let known = sizes
            .diameter_of_class(Some(Species::Pine), class("4"), feet(40.0))
            .expect("a size");
        // 33.5 in around are 270.8 mm across; with the excess, 270.8 exp(0.035) = 280.5.
        assert!((known.median.0 - 280.5).abs() < 0.1, "{known:?}");
        assert!((known.ln_sd - 0.05).abs() < 1e-12);
        let unknown = sizes
            .diameter_of_class(None, class("4"), feet(40.0))
            .expect("a size");
        // 33.5, 36.5 and 33.5 in (Douglas-fir by the load, 33.13, raised): ln sd 0.0404 between species.
        assert!((unknown.ln_sd - 0.0643).abs() < 5e-4, "{unknown:?}");
        assert!(unknown.median > known.median);
        // Spruce has no dimensions of its own.
        let spruce = sizes.diameter_of_class(Some(Species::Spruce), class("4"), feet(40.0));
        assert_eq!(spruce, Some(unknown));
    }

    #[test]
    fn a_groundline_below_six_feet_is_thicker_and_above_thinner() {
        let sizes = sizes();
        let at = |length| {
            let six = sizes.least_circumference(Species::Pine, class("2"), feet(length));
            let ground = sizes.least_groundline(Species::Pine, class("2"), feet(length));
            (ground.expect("a size").0 - six.expect("a size").0) / 25.4
        };
        // Groundlines 4, 6 and 10 ft from the butt, 0.25 in a foot.
        assert!((at(20.0) - 0.5).abs() < 1e-9);
        assert!(at(40.0).abs() < 1e-9);
        assert!((at(80.0) + 1.0).abs() < 1e-9);
    }

    #[test]
    fn a_top_diameter_grows_to_the_groundline() {
        // 12 m, set 1.8 m deep: 180 + 8 x 10.2 = 261.6 mm.
        let found = sizes().diameter_of_top(Mm(180.0), Mm(12_000.0));
        assert!((found.median.0 - 261.6).abs() < 1e-9);
    }

    #[test]
    fn a_group_is_named_by_the_timber_that_its_classes_are_made_with() {
        let sizes = sizes();
        let name = |word| sizes.timber(word).map(|timber| timber.name.as_str());
        assert_eq!(name("pine"), Some("southern_pine"));
        assert_eq!(name("radiata_pine"), Some("radiata_pine"));
        assert_eq!(name("douglas_fir"), Some("douglas_fir_coastal"));
        assert_eq!(name("eucalypt"), Some("eucalyptus_grandis"));
        assert_eq!(name("spruce"), None);
    }
}
