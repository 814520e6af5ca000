//! How the shifts of curves hang together before anything is found (model section 4).
//!
//! `theta = general + preservative + zone + own`: an owner whose creosoted poles outlive the table by a fifth most likely
//! keeps other poles well, too. The variances of the parts add up to the published doubt between fleets of each curve, so
//! that one curve by itself has exactly that doubt. Knows variances, nothing of findings.

use super::covariance::{Matrix, Root};
use super::grid::SHIFT_STEP;
use crate::models::Cell;
use crate::pole::{Preservative, Vocabulary};
use crate::units::Zone;

/// Shares of the variance between fleets (proposed): what all curves of an owner have in common, what those of one
/// preservative, what those of one decay zone; the rest is the curve's own.
const GENERAL: f64 = 0.4;
const PRESERVATIVE: f64 = 0.2;
const ZONE: f64 = 0.15;

/// Least standard deviation of a shift: no doubt at all would leave 0 / 0 at no shift.
const LEAST_SD: f64 = 1e-6;

/// A curve and its kin.
#[derive(Debug, Clone, PartialEq)]
pub struct Kin<'a> {
    /// The curve.
    pub cell: Cell,
    /// A name that no other curve of the models has.
    pub name: String,
    /// The preservatives that the curve is for.
    pub preservatives: &'a [Preservative],
}

/// The joint prior of the shifts of all curves in use, in steps of [`SHIFT_STEP`].
#[derive(Debug, Clone)]
pub(super) struct Kinship {
    /// Standard deviations, by slot.
    sd: Vec<f64>,
    /// Inverse of the covariance.
    precision: Matrix,
    /// Slots that are moved together by one draw: each curve alone, then those of a preservative, of a zone, and all.
    moves: Vec<Vec<usize>>,
}

impl Kinship {
    /// Of the curves in use, by slot.
    pub(super) fn new(curves: &[Kin<'_>]) -> Self {
        let sd: Vec<f64> = curves
            .iter()
            .map(|kin| kin.cell.between_fleets_ln_sd.max(LEAST_SD) / SHIFT_STEP)
            .collect();
        let correlation: Matrix = (0..curves.len())
            .map(|row| {
                let one = |column| correlation(&curves[row], &curves[column], row == column);
                (0..curves.len()).map(one).collect()
            })
            .collect();
        // Every curve has a part of its own, so that the matrix has a root.
        let mut precision =
            Root::of(&correlation, 0.0).map_or_else(Vec::new, |root| root.inverse());
        for (row, own) in precision.iter_mut().zip(&sd) {
            row.iter_mut()
                .zip(&sd)
                .for_each(|(value, other)| *value /= own * other);
        }
        Self {
            sd,
            precision,
            moves: moves(curves),
        }
    }

    /// Slots that are moved together: the first lists are each curve alone, in order.
    pub(super) fn moves(&self) -> &[Vec<usize>] {
        &self.moves
    }

    /// ln of the prior when some shifts move by so many steps together, up to a constant: the slope and the bend at no step.
    pub(super) fn along(&self, theta: &[i32], slots: &[usize]) -> (f64, f64) {
        let (mut slope, mut bend) = (0.0, 0.0);
        for slot in slots {
            let row = &self.precision[*slot];
            let pulls = row.iter().zip(theta);
            slope -= pulls.map(|(part, at)| part * f64::from(*at)).sum::<f64>();
            bend += slots.iter().map(|other| row[*other]).sum::<f64>();
        }
        (slope, bend)
    }

    /// ln density of one curve's shift by itself at steps `-reach..=reach`, up to a constant.
    pub(super) fn alone(&self, slot: usize, reach: i32) -> Vec<f64> {
        (-reach..=reach)
            .map(|steps| f64::from(steps) / self.sd[slot])
            .map(|z| -0.5 * z * z)
            .collect()
    }

    /// The inverse of the covariance, in shifts of ln life rather than steps.
    pub(super) fn precision_of_shifts(&self) -> Matrix {
        let in_shifts = |row: &Vec<f64>| {
            let values = row.iter();
            values.map(|own| own / (SHIFT_STEP * SHIFT_STEP)).collect()
        };
        self.precision.iter().map(in_shifts).collect()
    }

    /// Number of curves.
    pub(super) fn len(&self) -> usize {
        self.sd.len()
    }
}

fn correlation(one: &Kin<'_>, other: &Kin<'_>, same: bool) -> f64 {
    if same {
        return 1.0;
    }
    // The part of a curve for several preservatives is the sum of theirs, scaled to the variance of one.
    let common = one.preservatives.iter();
    let common = common
        .filter(|known| other.preservatives.contains(known))
        .count() as f64;
    let both = (one.preservatives.len() * other.preservatives.len()).max(1) as f64;
    let zone = f64::from(u8::from(one.cell.zone == other.cell.zone));
    GENERAL + PRESERVATIVE * common / both.sqrt() + ZONE * zone
}

fn moves(curves: &[Kin<'_>]) -> Vec<Vec<usize>> {
    let those = |is_one: &dyn Fn(&Kin<'_>) -> bool| -> Vec<usize> {
        let all = (0..).zip(curves);
        all.filter(|(_, kin)| is_one(kin))
            .map(|(slot, _)| slot)
            .collect()
    };
    let alone = (0..curves.len()).map(|slot| vec![slot]);
    let treated = Preservative::WORDS
        .iter()
        .map(|(own, ..)| those(&|kin| kin.preservatives.contains(own)));
    let in_zone = Zone::ALL
        .iter()
        .map(|zone| those(&|kin| kin.cell.zone == *zone));
    let mut moves: Vec<Vec<usize>> = Vec::new();
    for slots in alone
        .chain(treated)
        .chain(in_zone)
        .chain([those(&|_| true)])
    {
        if !slots.is_empty() && !moves.contains(&slots) {
            moves.push(slots);
        }
    }
    moves
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::wood::{LifeCurve, ServiceLife};

    const TREATED: [Preservative; 2] = [Preservative::Creosote, Preservative::Cca];

    /// A curve with this doubt between fleets.
    pub(in crate::belief) fn curve(sd: f64, preservative: usize, zone: u8) -> Kin<'static> {
        let life = LifeCurve::Lognormal {
            median_years: 50.0,
            ln_sd: 0.5,
        };
        Kin {
            cell: Cell {
                kind: 0,
                zone: Zone::new(zone).expect("a zone"),
                life: ServiceLife {
                    main: life,
                    early_share: 0.0,
                    early: life,
                },
                between_fleets_ln_sd: sd,
                protected_mean: 0.6,
                protected_sd: 0.12,
                internal_share: 0.25,
            },
            name: format!("curve {preservative} {zone}"),
            preservatives: &TREATED[preservative..=preservative],
        }
    }

    #[test]
    fn a_shift_given_another_is_that_of_two_correlated_normals() {
        // Same preservative, other zone: correlation 0.4 + 0.2 = 0.6. Given theta_0 = 10 steps (one standard deviation of
        // 0.25), theta_1 ~ N(0.6 x 20, 20 sqrt(1 - 0.36)): slope at 0 is 12 / 256, bend 1 / 256.
        let kinship = Kinship::new(&[curve(0.25, 0, 1), curve(0.5, 0, 2)]);
        let (slope, bend) = kinship.along(&[10, 0], &[1]);
        assert!((slope - 12.0 / 256.0).abs() < 1e-12, "{slope}");
        assert!((bend - 1.0 / 256.0).abs() < 1e-12, "{bend}");
    }

    #[test]
    fn curves_move_alone_with_their_kin_and_all_together() {
        let curves = [curve(0.2, 0, 1), curve(0.2, 0, 2), curve(0.2, 1, 2)];
        let expected: [&[usize]; 6] = [&[0], &[1], &[2], &[0, 1], &[1, 2], &[0, 1, 2]];
        assert_eq!(Kinship::new(&curves).moves(), expected);
    }

    #[test]
    fn a_curve_for_two_preservatives_is_half_kin_of_each() {
        // Shared part 0.2 / sqrt 2 beside the general 0.4; another zone.
        let both = Kin {
            preservatives: &TREATED[..2],
            ..curve(0.2, 0, 1)
        };
        let found = correlation(&both, &curve(0.2, 1, 2), false);
        assert!((found - 0.541_421_356).abs() < 1e-9, "{found}");
    }

    #[test]
    fn no_doubt_between_fleets_holds_against_any_findings() {
        // With a standard deviation of 0.01 the first step of 0.025 is 2.5 of them, 3.125 down; 1.4 is 140, 9,800 down.
        let prior = Kinship::new(&[curve(0.01, 0, 1)]).alone(0, 56);
        assert!((prior[56] - prior[57] - 3.125).abs() < 1e-9);
        assert!((prior[56] - prior[0] - 9_800.0).abs() < 1e-6);
    }
}
