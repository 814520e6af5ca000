//! How much wood a pole is: a truncated cone from butt to top by the class tables.
//!
//! Derived, from the figures of `models/pole-sizes.toml`: the circumference 6 ft from the butt with the taper added back,
//! the least top circumference of the class, both larger by the usual excess over a class. V = pi / 12 L (d1^2 + d1 d2 +
//! d2^2). A pole without a class of those tables has no volume here: none is made up.

use crate::maths::exp;
use crate::pole::{PoleClass, Species};
use crate::units::{LengthUnit, Mm};
use crate::wood::Sizes;
use std::f64::consts::PI;

/// From the butt to where a class's circumference is measured.
const MEASURED_FROM_BUTT: Mm = Mm(6.0 * 304.8);

/// The pole that truck loads are counted in: 12 m, class 4 (derived: a middle class).
const TRUCK_POLE: (Mm, &str) = (Mm(12_000.0), "4");

/// One pole of a size.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bulk {
    /// Diameter of the butt.
    pub butt: Mm,
    /// Volume, m3.
    pub volume: f64,
}

/// The bulk of a pole of this class and length; of a species without dimensions the mean of those with.
pub fn bulk(sizes: &Sizes, species: Option<Species>, class: PoleClass, length: Mm) -> Option<Bulk> {
    let own = species.filter(|own| sizes.dimensions_of(*own).is_some());
    let all: Vec<Bulk> = match own {
        Some(own) => vec![of_species(sizes, own, class, length)?],
        None => sizes
            .dimensions
            .iter()
            .map(|any| of_species(sizes, any.species, class, length))
            .collect::<Option<_>>()?,
    };
    let count = all.len() as f64;
    let mean = |pick: fn(&Bulk) -> f64| all.iter().map(pick).sum::<f64>() / count;
    (count > 0.0).then(|| Bulk {
        butt: Mm(mean(|one| one.butt.0)),
        volume: mean(|one| one.volume),
    })
}

fn of_species(sizes: &Sizes, species: Species, class: PoleClass, length: Mm) -> Option<Bulk> {
    let own = sizes.dimensions_of(species)?;
    let six_feet = sizes.least_circumference(species, class, length)?;
    let excess = exp(sizes.excess[0]);
    let butt =
        Mm((six_feet.0 + own.taper * MEASURED_FROM_BUTT.0) * excess).diameter_of_circumference();
    let top =
        Mm(sizes.classes[class.index()].top_circumference.0 * excess).diameter_of_circumference();
    let metres = |mm: Mm| LengthUnit::Metre.write(mm);
    let (d1, d2) = (metres(butt), metres(top));
    Some(Bulk {
        butt,
        volume: PI / 12.0 * metres(length) * (d1 * d1 + d1 * d2 + d2 * d2),
    })
}

/// Cubic metres that a truck takes which takes so many poles of 12 m and class 4.
pub fn truck_volume(sizes: &Sizes, poles: f64) -> Option<f64> {
    let class = PoleClass::from_word(TRUCK_POLE.1)?;
    Some(poles * bulk(sizes, None, class, TRUCK_POLE.0)?.volume)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sizes() -> Sizes {
        crate::models::text::built_in().expect("valid models").sizes
    }

    #[test]
    fn a_pole_is_a_truncated_cone() {
        let class = PoleClass::from_word("4").expect("a class");
        let pole = bulk(
            &sizes(),
            Some(Species::Pine),
            class,
            LengthUnit::Foot.read(40.0),
        )
        .expect("a bulk");
        // Pine, 40 ft class 4: 33.5 in at 6 ft and 0.25 in a foot make 35 in at the butt, 21 in at the top; with the
        // excess of exp(0.035), 293.1 and 175.8 mm across: pi / 12 x 12.192 x (0.08590 + 0.05153 + 0.03092) = 0.5374 m3.
        assert!((pole.butt.0 - 293.1).abs() < 0.1, "{pole:?}");
        assert!((pole.volume - 0.5374).abs() < 1e-3, "{pole:?}");
        // Between the thinnest and the thickest species.
        let any = bulk(&sizes(), None, class, LengthUnit::Foot.read(40.0)).expect("a bulk");
        assert!(any.volume > pole.volume && any.volume < 1.2 * pole.volume);
        assert_eq!(bulk(&sizes(), None, class, Mm(60_000.0)), None);
        assert!(truck_volume(&sizes(), 40.0).is_some_and(|volume| (18.0..28.0).contains(&volume)));
    }
}
