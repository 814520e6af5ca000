//! Reject rules and readings, turned into decay progress and remaining strength (model section 1).
//!
//! Every rule becomes a progress for a pole's diameter and mode, and the strictest binds. All readings of one visit
//! are put on one section ([`Section::measured`]); defects are never multiplied as independent factors.

use crate::maths::asin;
use crate::pole::{Inspection, Loading, Mode, SeenMode, SeenPockets, Verdict};
use crate::programme::{Limit, RejectRule};
use crate::units::{Date, Mm};
use crate::wood::section::{
    Section, progress_of_circumference, progress_of_shell, progress_of_strength,
};
use crate::wood::sizes::FibreStrength;
use crate::wood::{Pocket, PocketedSection};

/// The strength required of a pole when new, as a share of what it could bear then.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Required {
    /// Given as such.
    Share(f64),
    /// A required moment over the mean strength of the fibre: the section modulus that bears it, mm3.
    Modulus(f64),
}

impl Required {
    /// The requirement of a loading. A moment needs the mean strength of the fibre: `None` without it, and with a
    /// characteristic strength, which is a different thing.
    pub fn of(loading: Loading, fibre: Option<FibreStrength>) -> Option<Self> {
        match (loading, fibre) {
            (Loading::UseOfCapacity(share), _) => Some(Self::Share(share)),
            (Loading::Moment(moment), Some(FibreStrength::Mean { stress, .. })) => {
                Some(Self::Modulus(moment.0 * 1000.0 / stress.0))
            }
            (Loading::Moment(_), _) => None,
        }
    }

    /// The share for a pole of this diameter when new.
    pub fn share(self, diameter: Mm) -> f64 {
        match self {
            Self::Share(share) => share,
            Self::Modulus(modulus) => {
                let cube = diameter.0 * diameter.0 * diameter.0;
                modulus / (std::f64::consts::PI / 32.0 * cube)
            }
        }
    }
}

/// Progress at which a pole of this diameter and mode, of which nothing is known that it must bear, falls below the
/// strictest of the rules in force on `date`. Infinite when no rule is in force.
pub fn limit_progress(rules: &[RejectRule], date: Date, mode: Mode, diameter: Mm) -> f64 {
    limit_progress_bearing(rules, date, mode, diameter, None)
}

/// [`limit_progress`] of a pole with a required strength.
pub fn limit_progress_bearing(
    rules: &[RejectRule],
    date: Date,
    mode: Mode,
    diameter: Mm,
    required: Option<Required>,
) -> f64 {
    rules
        .iter()
        .filter(|rule| rule.in_force(date))
        .map(|rule| progress_of_limit(rule.limit, mode, diameter, required))
        .fold(f64::INFINITY, f64::min)
}

/// Progress at which a pole of this diameter and mode falls below one limit. A sound shell binds a hollow only, a
/// circumference outside decay only: infinite in the other mode. A share of the required strength is one of the original
/// strength where nothing is known that the pole must bear; a pole that was too weak when new is below with its first
/// decay.
pub fn progress_of_limit(
    limit: Limit,
    mode: Mode,
    diameter: Mm,
    required: Option<Required>,
) -> f64 {
    match limit {
        Limit::Strength(share) => progress_of_strength(mode, share.get()),
        Limit::RequiredStrength(share) => {
            let required = required.map_or(1.0, |required| required.share(diameter));
            progress_of_strength(mode, share.get() * required)
        }
        Limit::SoundShell(shell) => progress_of_shell(mode, diameter, shell),
        Limit::Circumference(share) => progress_of_circumference(mode, share.get()),
    }
}

/// The section that an inspection's readings describe on a pole of this original diameter; `None` when none of
/// remaining circumference, outside depth and sound shell was measured.
///
/// Remaining circumference and outside depth are the same decay measured twice: where both are given the larger loss
/// is taken, not their sum. A remaining circumference above the original shows no loss. The mean of the shell readings
/// counts, the least one where no mean is given.
pub fn measured_section(inspection: &Inspection, diameter: Mm) -> Option<Section> {
    let from_circumference = inspection
        .remaining_circumference
        .map(|left| (diameter.0 - left.diameter_of_circumference().0) / 2.0);
    let from_depth = inspection.outside_decay_depth.map(|depth| depth.0);
    let shell = inspection.sound_shell.or(inspection.least_sound_shell);
    if from_circumference.is_none() && from_depth.is_none() && shell.is_none() {
        return None;
    }
    let depth = from_circumference
        .unwrap_or(0.0)
        .max(from_depth.unwrap_or(0.0));
    Some(Section::measured(diameter, Mm(depth), shell))
}

/// The share of the original strength that an inspection's readings leave, all put on one section of this original
/// diameter; `None` when nothing was measured that says so.
///
/// Pockets are taken out of the same section, with the load in its worst direction. Readings that show no loss give 1:
/// whether decay was found at all is the verdict's to say, not the readings'.
pub fn measured_strength(inspection: &Inspection, diameter: Mm) -> Option<f64> {
    let section = measured_section(inspection, diameter);
    if inspection.pockets.is_empty() {
        return section.map(|section| section.remaining_strength());
    }
    let section = section.unwrap_or_else(|| Section::measured(diameter, Mm(0.0), None));
    let pockets = placed(&inspection.pockets, section.outer_diameter());
    let Ok(left) = PocketedSection::new(section, &pockets) else {
        return Some(section.remaining_strength());
    };
    let strength = |degrees: f64| left.bending(degrees).remaining_strength;
    Some(match pockets[..] {
        // One notch on a round section: the worst direction is along it or square to it.
        [Pocket::Exposed { degrees, .. }] => strength(degrees).min(strength(degrees + 90.0)),
        _ => strength(left.worst_direction()),
    })
}

/// Pockets on a section of this diameter. Those whose side is not recorded are laid side by side beside the largest, so
/// that they touch at half their depth: together they cut away one face, and the bending axis moves from it. Of all sides
/// tried, none weakens by 0.004 more.
fn placed(seen: &SeenPockets, across: Mm) -> Vec<Pocket> {
    let half_angle = |width: Mm, depth: Mm| {
        let (aside, inwards) = (width.0 / 2.0, (across.0 - depth.0) / 2.0);
        asin(aside / aside.hypot(inwards).max(1e-9)).to_degrees()
    };
    let mut edge: Option<f64> = None;
    let mut pockets = Vec::new();
    // Those with a side first: the others are laid beside them.
    let (sided, free): (Vec<_>, Vec<_>) = seen.iter().partition(|seen| seen.degrees.is_some());
    for seen in sided.into_iter().chain(free) {
        // On a diameter that is only supposed, the pocket may be larger than the pole.
        let width = Mm(seen.width.0.min(across.0));
        let depth = Mm(seen.depth.0.min(across.0 / 2.0));
        let half = half_angle(width, depth);
        let beside = edge.map_or(0.0, |edge| edge + half);
        let degrees = seen.degrees.unwrap_or(beside);
        if edge.is_none() || seen.degrees.is_none() {
            edge = Some(degrees + half);
        }
        pockets.push(Pocket::Exposed {
            width,
            depth,
            degrees,
        });
    }
    pockets
}

/// What an inspection says about the diameter when new: the original circumference, or the circumference found on a
/// pole that shows no decay from the outside.
pub fn measured_diameter(inspection: &Inspection) -> Option<Mm> {
    let decayed_outside = inspection
        .outside_decay_depth
        .is_some_and(|depth| depth.0 > 0.0)
        || !inspection.pockets.is_empty()
        || matches!(
            inspection.seen_mode,
            Some(SeenMode::External | SeenMode::Both)
        );
    let sound = inspection.verdict == Verdict::Sound && !decayed_outside;
    inspection
        .original_circumference
        .or(inspection.remaining_circumference.filter(|_| sound))
        .map(Mm::diameter_of_circumference)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pole::{Method, SeenPocket};
    use crate::units::{Fraction, NewtonMetre, Stress};
    use jiff::civil::date;

    const POLE: Mm = Mm(300.0);
    const TODAY: Date = date(2030, 1, 1);
    const ROUNDING: f64 = 1e-12;

    fn rule(limit: Limit) -> RejectRule {
        RejectRule { limit, from: None }
    }

    fn share(value: f64) -> Fraction {
        Fraction::new(value).expect("a share")
    }

    fn inspection() -> Inspection {
        Inspection::unmeasured(TODAY, Method::FullExcavation, Verdict::DecayServiceable)
    }

    #[test]
    fn two_thirds_of_the_strength_is_progress_one() {
        let rules = [rule(Limit::Strength(share(2.0 / 3.0)))];
        for mode in Mode::ALL {
            assert!((limit_progress(&rules, TODAY, mode, POLE) - 1.0).abs() < ROUNDING);
        }
    }

    #[test]
    fn shell_rules_bind_hollows_before_the_strength_does() {
        // (150 - 76) / 113.975 = 0.6493; (150 - 50) / 113.975 = 0.8774.
        let limit =
            |shell| progress_of_limit(Limit::SoundShell(Mm(shell)), Mode::Internal, POLE, None);
        assert!((limit(76.0) - 0.6493).abs() < 5e-5);
        assert!((limit(50.0) - 0.8774).abs() < 5e-5);
        assert!(limit(160.0).abs() < ROUNDING);
        let rules = [
            rule(Limit::Strength(share(2.0 / 3.0))),
            rule(Limit::SoundShell(Mm(76.0))),
        ];
        assert!((limit_progress(&rules, TODAY, Mode::Internal, POLE) - 0.6493).abs() < 5e-5);
        assert!((limit_progress(&rules, TODAY, Mode::External, POLE) - 1.0).abs() < ROUNDING);
    }

    #[test]
    fn a_circumference_rule_binds_outside_decay_only() {
        // The cube law: a circumference of (2/3)^(1/3) of the original is a strength of two thirds.
        let limit = Limit::Circumference(share(libm::cbrt(2.0 / 3.0)));
        assert!((progress_of_limit(limit, Mode::External, POLE, None) - 1.0).abs() < ROUNDING);
        assert!(progress_of_limit(limit, Mode::Internal, POLE, None).is_infinite());
    }

    #[test]
    fn two_thirds_of_the_required_strength_leave_more_room_to_a_pole_that_has_some() {
        let rules = [rule(Limit::RequiredStrength(share(2.0 / 3.0)))];
        let at = |required| limit_progress_bearing(&rules, TODAY, Mode::External, POLE, required);
        // Nothing known: read as of the original.
        assert!((at(None) - 1.0).abs() < ROUNDING);
        assert!((at(Some(Required::Share(1.0))) - 1.0).abs() < ROUNDING);
        // 2/3 of 0.6 is 0.4 of the original: (1 - 0.4^(1/3)) / (1 - (2/3)^(1/3)) = 2.0820.
        assert!((at(Some(Required::Share(0.6))) - 2.0820).abs() < 5e-4);
        // Too weak from the first day.
        assert!(at(Some(Required::Share(1.6))).abs() < ROUNDING);
    }

    #[test]
    fn a_required_moment_is_a_share_of_what_the_section_bears() {
        // pi 300^3 / 32 = 2650719 mm3 at 55.158 MPa (8000 psi): 146.21 kN m; half of it is 0.5.
        let fibre = FibreStrength::Mean {
            stress: Stress::of_psi(8000.0),
            cov: 0.2,
        };
        let moment = Loading::Moment(NewtonMetre(73_105.0));
        let required = Required::of(moment, Some(fibre)).expect("a mean strength");
        assert!((required.share(POLE) - 0.5).abs() < 1e-4);
        // A thicker pole has more to spare.
        assert!((required.share(Mm(600.0)) - 0.0625).abs() < 1e-4);
        // A lower-tail strength is no mean.
        let tail = FibreStrength::Characteristic {
            stress: Stress(40.0),
        };
        assert_eq!(Required::of(moment, Some(tail)), None);
        assert_eq!(Required::of(moment, None), None);
    }

    #[test]
    fn a_rule_binds_from_its_day_on() {
        let rules = [RejectRule {
            limit: Limit::Strength(share(0.5)),
            from: Some(date(2030, 1, 2)),
        }];
        assert!(limit_progress(&rules, TODAY, Mode::External, POLE).is_infinite());
        assert!(limit_progress(&rules, date(2030, 1, 2), Mode::External, POLE).is_finite());
    }

    #[test]
    fn an_unmeasured_visit_says_nothing_of_strength() {
        assert_eq!(measured_strength(&inspection(), POLE), None);
        let only_original = Inspection {
            original_circumference: Some(Mm(940.0)),
            ..inspection()
        };
        assert_eq!(measured_strength(&only_original, POLE), None);
    }

    #[test]
    fn readings_of_one_visit_stand_on_one_section() {
        let seen = Inspection {
            remaining_circumference: Some(Mm(260.0).circumference_of_diameter()),
            sound_shell: Some(Mm(50.0)),
            least_sound_shell: Some(Mm(40.0)),
            ..inspection()
        };
        // (260^4 - 160^4) / (260 * 300^3) = 0.557607.
        let strength = measured_strength(&seen, POLE).expect("measured");
        assert!((strength - 0.557_607).abs() < 1e-6, "{strength}");
    }

    #[test]
    fn a_pocket_is_taken_out_of_the_same_section() {
        let notch = SeenPocket {
            width: Mm(60.0),
            depth: Mm(50.0),
            degrees: Some(90.0),
            height: None,
        };
        let with = |shell: Option<f64>| Inspection {
            pockets: SeenPockets::of([notch]),
            sound_shell: shell.map(Mm),
            ..inspection()
        };
        let strength = |seen: &Inspection| measured_strength(seen, POLE).expect("measured");
        let alone = strength(&with(None));
        // The worst of all directions, searched through.
        let sound = Section::measured(POLE, Mm(0.0), None);
        let pocket = Pocket::Exposed {
            width: notch.width,
            depth: notch.depth,
            degrees: 90.0,
        };
        let left = PocketedSection::new(sound, &[pocket]).expect("a pocket that fits");
        let worst = left.bending(left.worst_direction()).remaining_strength;
        assert!((alone - worst).abs() < 1e-9, "{alone} {worst}");
        // With a hollow it is one section, not two factors; the notch reaches into the hollow and takes less than alone.
        let hollow = Inspection {
            sound_shell: Some(Mm(40.0)),
            ..inspection()
        };
        let both = strength(&with(Some(40.0)));
        assert!(both < strength(&hollow) && both < alone);
        assert!((both - strength(&hollow) * alone).abs() > 1e-3);
        // On a supposed pole that is too thin for it.
        assert!(measured_strength(&with(None), Mm(80.0)).expect("measured") < 0.5);
    }

    fn with_pockets(pockets: &[(f64, f64, Option<f64>)]) -> Inspection {
        let seen = |&(width, depth, degrees): &(f64, f64, Option<f64>)| SeenPocket {
            width: Mm(width),
            depth: Mm(depth),
            degrees,
            height: None,
        };
        Inspection {
            pockets: SeenPockets::of(pockets.iter().map(seen)),
            ..inspection()
        }
    }

    #[test]
    fn several_pockets_are_taken_out_of_one_section() {
        let strength = |pockets: &[(f64, f64, Option<f64>)]| {
            measured_strength(&with_pockets(pockets), POLE).expect("measured")
        };
        let one = strength(&[(60.0, 50.0, Some(0.0))]);
        let opposite = strength(&[(60.0, 50.0, Some(0.0)), (60.0, 50.0, Some(180.0))]);
        let sound = Section::measured(POLE, Mm(0.0), None);
        let notch = |degrees| Pocket::Exposed {
            width: Mm(60.0),
            depth: Mm(50.0),
            degrees,
        };
        let pair = PocketedSection::new(sound, &[notch(0.0), notch(180.0)]).expect("they fit");
        let worst = pair.bending(pair.worst_direction()).remaining_strength;
        assert!((opposite - worst).abs() < 1e-9, "{opposite} {worst}");
        assert!(opposite < one);
        // Never as independent factors, and the same pocket twice counts once.
        assert!((opposite - one * one).abs() > 1e-3, "{opposite} {one}");
        let twice = strength(&[(60.0, 50.0, Some(0.0)), (60.0, 50.0, Some(0.0))]);
        assert!((twice - one).abs() < 1e-6, "{twice} {one}");
    }

    #[test]
    fn pockets_without_a_side_stand_where_they_weaken_most() {
        /// Where notches overlap inside and part outside, some degrees more or less weaken a little more: 0.0035 at most
        /// on eight pairs tried apart, by summing over squares of 0.2 mm.
        const NEARLY: f64 = 5e-3;
        let pairs = [
            ((60.0, 50.0), (60.0, 50.0)),
            ((90.0, 40.0), (50.0, 70.0)),
            ((120.0, 100.0), (60.0, 30.0)),
            ((60.0, 140.0), (60.0, 140.0)),
        ];
        for (first, second) in pairs {
            let both = |one: Option<f64>, other: Option<f64>| {
                let seen = [(first.0, first.1, one), (second.0, second.1, other)];
                measured_strength(&with_pockets(&seen), POLE).expect("measured")
            };
            for side in [None, Some(0.0), Some(135.0)] {
                let unknown = both(side, None);
                for step in 0..36 {
                    let known = both(Some(0.0), Some(10.0 * f64::from(step)));
                    assert!(
                        unknown <= known + NEARLY,
                        "{side:?} {step}: {unknown} {known}"
                    );
                }
            }
        }
    }

    #[test]
    fn the_same_decay_measured_twice_counts_once() {
        let seen = Inspection {
            remaining_circumference: Some(Mm(270.0).circumference_of_diameter()),
            outside_decay_depth: Some(Mm(20.0)),
            ..inspection()
        };
        // The depth says 20 mm, the circumference 15: (260 / 300)^3 = 0.650963.
        let strength = measured_strength(&seen, POLE).expect("measured");
        assert!((strength - 0.650_963).abs() < 1e-6, "{strength}");
    }

    #[test]
    fn more_circumference_than_the_original_is_no_loss() {
        let seen = Inspection {
            remaining_circumference: Some(Mm(320.0).circumference_of_diameter()),
            ..inspection()
        };
        assert_eq!(measured_strength(&seen, POLE), Some(1.0));
    }

    #[test]
    fn a_sound_circumference_is_evidence_for_the_diameter() {
        let girth = Some(Mm(300.0).circumference_of_diameter());
        let decayed = Inspection {
            remaining_circumference: girth,
            ..inspection()
        };
        assert_eq!(measured_diameter(&decayed), None);
        let sound = Inspection {
            verdict: Verdict::Sound,
            ..decayed
        };
        let diameter = measured_diameter(&sound).expect("a sound circumference");
        assert!((diameter.0 - 300.0).abs() < 1e-9);
        let worn = Inspection {
            outside_decay_depth: Some(Mm(5.0)),
            ..sound
        };
        assert_eq!(measured_diameter(&worn), None);
        let original = Inspection {
            original_circumference: girth,
            ..worn
        };
        assert!(measured_diameter(&original).is_some());
    }
}
