//! Pockets against closed forms, and what no pocket may ever do.

use super::{Misfit, Pocket, PocketedSection};
use crate::units::{LengthUnit, Mm};
use crate::wood::Section;
use std::f64::consts::{FRAC_PI_2, PI};

/// What Simpson's rule over so many strips leaves where boundaries do not cross, as a share of the original strength.
const INTEGRATION: f64 = 1e-10;
/// The same where they cross between two ordinates: a kink costs the square of a step, (pi / 1000)^2 / 12 = 8e-7.
const CROSSINGS: f64 = 1e-6;
/// Worst directions are sought in steps of 0.01 degrees.
const A_STEP: f64 = 0.01;
/// The most that balance gave back over a wide grid of two enclosed pockets was 0.19 % of the strength.
const BALANCE: f64 = 0.002;
const POLE: Mm = Mm(300.0);

fn sound() -> Section {
    Section::measured(POLE, Mm(0.0), None)
}

fn enclosed(radius: f64, from_centre: f64, degrees: f64) -> Pocket {
    Pocket::Enclosed {
        radius: Mm(radius),
        from_centre: Mm(from_centre),
        degrees,
    }
}

fn exposed(width: f64, depth: f64, degrees: f64) -> Pocket {
    Pocket::Exposed {
        width: Mm(width),
        depth: Mm(depth),
        degrees,
    }
}

fn left(section: Section, pockets: &[Pocket]) -> PocketedSection {
    PocketedSection::new(section, pockets).expect("pockets that fit")
}

fn worst(pockets: &[Pocket]) -> f64 {
    let left = left(sound(), pockets);
    left.bending(left.worst_direction()).remaining_strength
}

fn assert_share(value: f64, wanted: f64, tolerance: f64) {
    assert!(
        (value - wanted).abs() < tolerance,
        "{value} is not {wanted}"
    );
}

#[test]
fn without_pockets_it_is_the_section() {
    for (depth, shell) in [
        (0.0, None),
        (20.0, None),
        (0.0, Some(50.0)),
        (20.0, Some(50.0)),
    ] {
        let section = Section::measured(POLE, Mm(depth), shell.map(Mm));
        for degrees in [0.0, 33.0, 90.0] {
            let strength = left(section, &[]).bending(degrees).remaining_strength;
            assert_share(strength, section.remaining_strength(), INTEGRATION);
        }
    }
}

#[test]
fn a_pocket_at_the_centre_is_a_hollow() {
    let hollow = Section::measured(POLE, Mm(20.0), Some(Mm(50.0)));
    let worn = Section::measured(POLE, Mm(20.0), None);
    let pocketed = left(worn, &[enclosed(80.0, 0.0, 0.0)]).bending(71.0);
    assert_share(
        pocketed.remaining_strength,
        hollow.remaining_strength(),
        INTEGRATION,
    );
}

#[test]
fn two_enclosed_pockets_follow_parallel_axes() {
    let (r, e) = ([30.0, 45.0], [90.0, 70.0]);
    let section = left(
        sound(),
        &[enclosed(r[0], e[0], 0.0), enclosed(r[1], e[1], 90.0)],
    );
    // I = pi R^4 / 4 - sum (pi r^4 / 4 + pi r^2 u^2) - A c^2 along u, with the first at u = e, the second at u = 0.
    let areas = r.map(|r| PI * r * r);
    let area = PI * 150.0 * 150.0 - areas[0] - areas[1];
    let shift = -areas[0] * e[0] / area;
    let own = |r: f64| PI * r.powi(4) / 4.0;
    let about_centre = own(150.0) - own(r[0]) - own(r[1]) - areas[0] * e[0] * e[0];
    let modulus = (about_centre - area * shift * shift) / (150.0 - shift);
    let bending = section.bending(0.0);
    assert_share(section.area / area, 1.0, INTEGRATION);
    assert_share(section.centroid[0] / shift, 1.0, INTEGRATION);
    assert_share(bending.farthest_fibre.0 / (150.0 - shift), 1.0, INTEGRATION);
    assert_share(bending.modulus / modulus, 1.0, INTEGRATION);
}

#[test]
fn half_a_pole_is_half_a_disc() {
    // A notch as wide as the pole and as deep as its centre leaves half a disc: A = pi R^2 / 2, the centroid
    // 4 R / (3 pi) from the centre, I = pi R^4 / 8 - A (4 R / (3 pi))^2, to the face that is gone R + 4 R / (3 pi).
    let half = left(sound(), &[exposed(300.0, 150.0, 30.0)]);
    let shift = 4.0 / (3.0 * PI);
    let second_moment = PI / 8.0 - FRAC_PI_2 * shift * shift;
    let wanted = second_moment / (1.0 + shift) / (PI / 4.0);
    assert_share(half.bending(30.0).remaining_strength, wanted, INTEGRATION);
    // Across, no shift: half of the original.
    assert_share(half.bending(120.0).remaining_strength, 0.5, INTEGRATION);
    let (x, y) = (half.centroid[0], half.centroid[1]);
    assert_share(x.hypot(y) / 150.0, shift, INTEGRATION);
}

#[test]
fn the_worst_direction_goes_through_a_single_pocket() {
    for pocket in [enclosed(37.5, 80.0, 47.0), exposed(60.0, 50.0, 47.0)] {
        let section = left(sound(), &[pocket]);
        assert!((section.worst_direction() - 47.0).abs() <= A_STEP);
        let [along, across] = [47.0, 137.0].map(|at| section.bending(at).remaining_strength);
        assert!(along < across);
        assert_share(section.bending(227.0).remaining_strength, along, 1e-12);
    }
}

#[test]
fn turning_the_pole_or_changing_the_unit_changes_nothing() {
    let in_unit = |millimetres: f64, turn: f64| {
        let mm = |length: f64| Mm(length * millimetres);
        let pockets = [
            Pocket::Enclosed {
                radius: mm(1.5),
                from_centre: mm(3.0),
                degrees: 10.0 + turn,
            },
            Pocket::Exposed {
                width: mm(2.0),
                depth: mm(1.0),
                degrees: 130.0 + turn,
            },
        ];
        let section = Section::measured(mm(12.0), mm(0.5), Some(mm(4.5)));
        left(section, &pockets)
            .bending(20.0 + turn)
            .remaining_strength
    };
    let inches = in_unit(LengthUnit::Inch.millimetres(), 0.0);
    for unit in LengthUnit::ALL {
        assert_share(in_unit(unit.millimetres(), 0.0), inches, 1e-12);
    }
    for turn in [-90.0, 17.3, 90.0, 180.0, 301.0, 360.0] {
        // The first pocket crosses the hollow.
        assert_share(in_unit(25.4, turn), inches, CROSSINGS);
    }
}

#[test]
fn pockets_that_overlap_count_once() {
    let one = enclosed(40.0, 80.0, 15.0);
    let inside = enclosed(20.0, 75.0, 15.0);
    assert_share(worst(&[one, one, inside]), worst(&[one]), INTEGRATION);
    let notch = exposed(80.0, 60.0, 15.0);
    let shallower = exposed(50.0, 40.0, 15.0);
    assert_share(worst(&[notch, shallower]), worst(&[notch]), INTEGRATION);
    // Two circles of radius r with centres r apart have r^2 (2 pi / 3 - sqrt(3) / 2) in common.
    let section = left(
        sound(),
        &[enclosed(40.0, 20.0, 0.0), enclosed(40.0, 20.0, 180.0)],
    );
    let union = 1600.0 * (2.0 * PI - (2.0 * PI / 3.0 - 3_f64.sqrt() / 2.0));
    assert_share(section.area / (PI * 22_500.0 - union), 1.0, CROSSINGS);
}

#[test]
fn a_pocket_that_grows_never_raises_the_strength() {
    for direction in [0.0, 40.0, 90.0] {
        let mut last = [f64::INFINITY; 3];
        for step in 0..=60 {
            let size = f64::from(step);
            let grown = [
                enclosed(size, 90.0, 0.0),
                exposed(5.0 * size, 50.0, 0.0),
                exposed(60.0, 2.5 * size, 0.0),
            ];
            for (pocket, last) in grown.into_iter().zip(&mut last) {
                let now = left(sound(), &[pocket])
                    .bending(direction)
                    .remaining_strength;
                assert!(
                    now <= *last + INTEGRATION,
                    "{pocket:?} at {direction}: {now} after {last}"
                );
                *last = now;
            }
        }
        assert!(
            last.into_iter().all(|last| last < 0.995),
            "{last:?} at {direction}"
        );
    }
}

#[test]
fn two_pockets_are_weaker_than_either_and_no_product() {
    let (one, other) = (enclosed(40.0, 80.0, 0.0), exposed(60.0, 50.0, 100.0));
    let both = worst(&[one, other]);
    let (first, second) = (worst(&[one]), worst(&[other]));
    assert!(both < first.min(second), "{both} of {first} and {second}");
    assert!(
        (both - first * second).abs() > 0.01,
        "{both} of {first} and {second}"
    );
}

#[test]
fn nothing_left_is_nothing_left() {
    let halves = [exposed(300.0, 150.0, 0.0), exposed(300.0, 150.0, 180.0)];
    assert_share(worst(&halves), 0.0, INTEGRATION);
    let gone = Section::measured(POLE, Mm(150.0), None);
    assert_share(
        left(gone, &[]).bending(0.0).remaining_strength,
        0.0,
        INTEGRATION,
    );
}

#[test]
fn pockets_that_cannot_be_are_named() {
    let fault = |pocket| PocketedSection::new(sound(), &[enclosed(1.0, 0.0, 0.0), pocket]);
    for (pocket, misfit) in [
        (enclosed(71.0, 80.0, 0.0), Misfit::ThroughTheSurface),
        (exposed(301.0, 50.0, 0.0), Misfit::TooWide),
        (exposed(60.0, 151.0, 0.0), Misfit::TooDeep),
        (enclosed(-1.0, 80.0, 0.0), Misfit::NotALength),
        (exposed(60.0, f64::NAN, 0.0), Misfit::NotALength),
        (enclosed(10.0, 80.0, f64::INFINITY), Misfit::NotALength),
    ] {
        assert_eq!(fault(pocket), Err((1, misfit)), "{pocket:?}");
    }
    assert!(fault(enclosed(70.0, 80.0, 0.0)).is_ok());
}

#[test]
fn a_pocket_that_balances_another_gives_back_next_to_nothing() {
    // A void near the centre draws the centroid back from a void on the other side, and so the farther face nearer.
    let balanced = worst(&[enclosed(50.0, 40.0, 0.0), enclosed(40.0, 10.0, 180.0)]);
    assert!(balanced > worst(&[enclosed(50.0, 40.0, 0.0)]));
    for (r, e) in [(30.0, 110.0), (50.0, 40.0), (60.0, 80.0), (90.0, 30.0)] {
        let one = worst(&[enclosed(r, e, 0.0)]);
        for step in 1..40 {
            let (q, f) = (f64::from(step % 5 + 1) * 10.0, f64::from(step / 5) * 10.0);
            let both = worst(&[enclosed(r, e, 0.0), enclosed(q, f, 180.0)]);
            assert!(both < one * (1.0 + BALANCE), "{r} {e} {q} {f}");
        }
    }
}
