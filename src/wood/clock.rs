//! A pole's wood through calendar time: what remedial treatments slow, and what a reinforcement bridges (model section 1).
//!
//! The one place where progress is read from a date. Decay runs on a clock of its own: from onset on, a year counts the
//! clock factor while an agent acts and 1 otherwise. Progress follows that clock, hazards run through the calendar. A
//! reinforcement restores the groundline for its life; the wood inside goes on ageing. Knows no agent and no policy.

use super::progress::Wood;
use crate::pole::Mode;

/// A stretch of calendar time, in years after the plan date; negative years lie before it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// Its beginning.
    pub from: f64,
    /// Its end.
    pub until: f64,
}

impl Stretch {
    /// Whether a moment lies in it: from its beginning on, before its end.
    pub fn holds(self, years: f64) -> bool {
        self.from <= years && years < self.until
    }

    /// Years that it shares with the time from `from` to `until`.
    fn shared(self, from: f64, until: f64) -> f64 {
        (self.until.min(until) - self.from.max(from)).max(0.0)
    }
}

/// What was done, or is planned, to keep one pole.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Upkeep {
    /// When an agent acts, by [`Mode::index`]: in the order of time, apart from each other.
    slowed: [Vec<Stretch>; Mode::ALL.len()],
    /// While a reinforcement holds the groundline.
    braced: Option<Stretch>,
}

impl Upkeep {
    /// Adds a treatment that acts on one mode. Agents that act at the same time slow decay no more than one.
    pub fn treat(&mut self, mode: Mode, stretch: Stretch) {
        if stretch.until <= stretch.from {
            return;
        }
        let slowed = &mut self.slowed[mode.index()];
        let mut joined = stretch;
        slowed.retain(|known| {
            let apart = known.until < joined.from || known.from > joined.until;
            if !apart {
                joined.from = joined.from.min(known.from);
                joined.until = joined.until.max(known.until);
            }
            apart
        });
        let place = slowed.partition_point(|known| known.from < joined.from);
        slowed.insert(place, joined);
    }

    /// Puts a reinforcement in the place of any earlier one.
    pub fn brace(&mut self, stretch: Stretch) {
        self.braced = Some(stretch);
    }

    /// While a reinforcement holds the groundline.
    pub fn braced(&self) -> Option<Stretch> {
        self.braced
    }

    /// The same upkeep without the reinforcement.
    pub fn unbraced(&self) -> Self {
        Self {
            slowed: self.slowed.clone(),
            braced: None,
        }
    }

    /// Whether a reinforcement holds the groundline at a moment.
    #[inline]
    pub fn is_braced(&self, years: f64) -> bool {
        self.braced.is_some_and(|brace| brace.holds(years))
    }

    /// Whether any treatment slows decay of this mode.
    #[inline]
    pub fn is_slowed(&self, mode: Mode) -> bool {
        !self.slowed[mode.index()].is_empty()
    }

    /// Whether an agent acts on this mode at any time between two moments.
    pub fn is_slowed_between(&self, mode: Mode, from: f64, until: f64) -> bool {
        let slowed = &self.slowed[mode.index()];
        slowed
            .iter()
            .any(|stretch| stretch.shared(from, until) > 0.0)
    }
}

/// One state of one pole through calendar time.
#[derive(Debug, Clone, Copy)]
pub struct Aging<'a> {
    /// What decides how its wood decays.
    pub wood: Wood,
    /// Its age at the plan date, years.
    pub age: f64,
    /// What is done to keep it.
    pub upkeep: &'a Upkeep,
    /// The clock factor of its treatments.
    pub factor: f64,
}

/// A stretch of calendar time after onset in which one thing holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Piece {
    /// Years of the calendar.
    pub years: f64,
    /// Progress at its beginning and at its end.
    pub progress: [f64; 2],
    /// Whether a reinforcement holds the groundline throughout.
    pub braced: bool,
}

impl Aging<'_> {
    /// Whether neither a treatment of this mode nor a reinforcement changes anything: then age alone decides.
    #[inline]
    pub fn is_plain(&self) -> bool {
        self.upkeep.braced.is_none() && !self.upkeep.is_slowed(self.wood.mode)
    }

    fn slowed(&self) -> &[Stretch] {
        &self.upkeep.slowed[self.wood.mode.index()]
    }

    /// The onset of decay, years after the plan date.
    #[inline]
    pub fn onset(&self) -> f64 {
        self.wood.onset() - self.age
    }

    /// Years of decay that treatments have saved since onset, up to so many years after the plan date.
    #[inline]
    fn saved(&self, onset: f64, years: f64) -> f64 {
        let slowed = self.slowed().iter();
        let shared: f64 = slowed.map(|stretch| stretch.shared(onset, years)).sum();
        (1.0 - self.factor) * shared
    }

    /// Progress so many years after the plan date; negative while the preservative holds.
    #[inline]
    pub fn progress(&self, years: f64) -> f64 {
        if !self.upkeep.is_slowed(self.wood.mode) {
            return self.wood.progress(self.age + years);
        }
        self.wood
            .progress(self.age + years - self.saved(self.onset(), years))
    }

    /// Years after the plan date at which it reaches a progress.
    pub fn years_at(&self, progress: f64) -> f64 {
        let without = self.wood.age_at(progress) - self.age;
        let onset = self.onset();
        let mut years = without;
        // Each slowed stretch that begins before the progress is reached puts it off: by what it saves as a whole, or,
        // where the progress is reached within it, by what is needed of it.
        for stretch in self.slowed() {
            let start = stretch.from.max(onset);
            let length = stretch.until - start;
            if length <= 0.0 || start >= years {
                continue;
            }
            let within = (years - start) / self.factor;
            years = if within <= length {
                start + within
            } else {
                years + (1.0 - self.factor) * length
            };
        }
        years
    }

    /// The service life with which a pole of this protected share, diameter and upkeep would be at `progress` (above 0)
    /// so many years after the plan date; the life of [`Aging::wood`] does not matter.
    ///
    /// With the onset at `x` years of age, `(1 - phi) delta s x / phi` years of decay lead to the progress. What is left
    /// of the age for them falls with `x`, in straight pieces that end where a stretch does.
    pub fn life_with(&self, progress: f64, years: f64) -> f64 {
        let unit = Wood {
            life: 1.0,
            ..self.wood
        };
        let age = self.age + years;
        if !self.upkeep.is_slowed(self.wood.mode) {
            return age / unit.age_at(progress);
        }
        let needed = unit.years_to_reference() * progress / unit.protected;
        let surplus =
            |onset: f64| age - onset - self.saved(onset - self.age, years) - needed * onset;
        let edges = self
            .slowed()
            .iter()
            .rev()
            .flat_map(|stretch| [stretch.until, stretch.from])
            .map(|edge| (self.age + edge).clamp(0.0, age.max(0.0)));
        let mut late = age.max(0.0);
        let mut at_late = surplus(late);
        for early in edges.chain([0.0]) {
            let at_early = surplus(early);
            if at_early >= 0.0 {
                let step = at_early - at_late;
                let share = if step > 0.0 { at_early / step } else { 0.0 };
                return (early + (late - early) * share) / unit.protected;
            }
            (late, at_late) = (early, at_early);
        }
        0.0
    }

    /// The time from onset to so many years after the plan date, cut wherever a treatment or a reinforcement begins or
    /// ends.
    pub fn pieces(&self, years: f64) -> Vec<Piece> {
        let onset = self.onset();
        if years <= onset {
            return Vec::new();
        }
        let mut edges = vec![onset, years];
        let stretches = self.slowed().iter().copied().chain(self.upkeep.braced);
        for stretch in stretches {
            edges.extend(
                [stretch.from, stretch.until]
                    .into_iter()
                    .filter(|edge| *edge > onset && *edge < years),
            );
        }
        edges.sort_by(f64::total_cmp);
        edges
            .windows(2)
            .filter(|edge| edge[1] > edge[0])
            .map(|edge| Piece {
                years: edge[1] - edge[0],
                progress: [self.progress(edge[0]), self.progress(edge[1])],
                braced: self.upkeep.is_braced(0.5 * (edge[0] + edge[1])),
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Mm;

    /// Sums and products of a few numbers of the size of ages: only rounding may differ.
    const ROUNDING: f64 = 1e-9;

    /// Onset at 30, the limit at 50 years of age: 20 years of decay. 35 years old at the plan date.
    fn wood() -> Wood {
        Wood {
            life: 50.0,
            protected: 0.6,
            mode: Mode::Internal,
            diameter: Mm(300.0),
        }
    }

    fn treated(stretches: &[(f64, f64)]) -> Upkeep {
        let mut upkeep = Upkeep::default();
        for (from, until) in stretches {
            let (from, until) = (*from, *until);
            upkeep.treat(Mode::Internal, Stretch { from, until });
        }
        upkeep
    }

    fn aging(upkeep: &Upkeep) -> Aging<'_> {
        Aging {
            wood: wood(),
            age: 35.0,
            upkeep,
            factor: 0.5,
        }
    }

    #[test]
    fn a_slowed_stretch_puts_the_limit_off_by_what_it_saves() {
        // From onset at -5 to the plan date 5 years of decay; then 8 years that count half: 9 at year 8; the 20th year
        // of decay comes 11 years later, at 19, instead of 15.
        let upkeep = treated(&[(0.0, 8.0)]);
        let pole = aging(&upkeep);
        assert!((pole.progress(0.0) - 5.0 / 20.0).abs() < ROUNDING);
        assert!((pole.progress(8.0) - 9.0 / 20.0).abs() < ROUNDING);
        assert!((pole.years_at(1.0) - 19.0).abs() < ROUNDING);
        // Within the stretch: 7 years of decay are reached 4 years into it.
        assert!((pole.years_at(7.0 / 20.0) - 4.0).abs() < ROUNDING);
        // The other mode is not reached.
        let outside = Aging {
            wood: Wood {
                mode: Mode::External,
                ..wood()
            },
            ..pole
        };
        assert!((outside.years_at(1.0) - 15.0).abs() < ROUNDING);
    }

    #[test]
    fn the_protected_phase_is_not_slowed() {
        // An agent of ten years given ten years before onset (year -5) does nothing; given two years before, it slows the
        // eight years after onset: 4 saved.
        assert!((aging(&treated(&[(-15.0, -5.0)])).years_at(1.0) - 15.0).abs() < ROUNDING);
        assert!((aging(&treated(&[(-7.0, 3.0)])).years_at(1.0) - 19.0).abs() < ROUNDING);
        assert!(aging(&treated(&[(-15.0, 3.0)])).progress(-6.0) < 0.0);
    }

    #[test]
    fn two_agents_at_a_time_slow_no_more_than_one() {
        let once = treated(&[(-2.0, 6.0)]);
        assert_eq!(treated(&[(-2.0, 4.0), (1.0, 6.0)]), once);
        assert_eq!(treated(&[(1.0, 6.0), (-2.0, 4.0), (0.0, 1.0)]), once);
        assert_eq!(treated(&[(3.0, 3.0)]), Upkeep::default());
    }

    #[test]
    fn years_at_and_progress_undo_each_other() {
        for stretches in [
            vec![],
            vec![(-3.0, 4.0)],
            vec![(-12.0, -9.0), (-6.0, -4.5), (-1.0, 2.0), (6.0, 13.0)],
        ] {
            let upkeep = treated(&stretches);
            let pole = aging(&upkeep);
            for step in -10..60 {
                let progress = f64::from(step) / 40.0;
                let there = pole.progress(pole.years_at(progress));
                assert!(
                    (there - progress).abs() < ROUNDING,
                    "{stretches:?} {progress}"
                );
            }
        }
    }

    #[test]
    fn the_life_that_leads_to_a_progress_does() {
        for stretches in [
            vec![],
            vec![(-3.0, 4.0)],
            vec![(-34.0, -20.0), (-6.0, -4.5), (-1.0, 2.0), (6.0, 13.0)],
        ] {
            let upkeep = treated(&stretches);
            for factor in [0.3, 0.8] {
                for years in [-30.0, -5.0, 0.0, 3.0, 20.0] {
                    for progress in [0.05, 0.6, 1.0, 1.3] {
                        let pole = Aging {
                            factor,
                            ..aging(&upkeep)
                        };
                        let life = pole.life_with(progress, years);
                        let with = Aging {
                            wood: Wood { life, ..wood() },
                            ..pole
                        };
                        let there = with.progress(years);
                        assert!(
                            (there - progress).abs() < ROUNDING,
                            "{stretches:?} {factor} {years}: {there} {progress}"
                        );
                    }
                }
            }
        }
    }

    #[test]
    fn pieces_run_from_onset_through_every_change() {
        let mut upkeep = treated(&[(-2.0, 3.0)]);
        upkeep.brace(Stretch {
            from: 1.0,
            until: 20.0,
        });
        let pieces = aging(&upkeep).pieces(6.0);
        let years: Vec<f64> = pieces.iter().map(|piece| piece.years).collect();
        assert_eq!(years, [3.0, 3.0, 2.0, 3.0]);
        let braced: Vec<bool> = pieces.iter().map(|piece| piece.braced).collect();
        assert_eq!(braced, [false, false, true, true]);
        // 3 years whole, 3 + 2 half, 3 whole: 8.5 of 20.
        assert!((pieces[3].progress[1] - 8.5 / 20.0).abs() < ROUNDING);
        assert!(aging(&upkeep).pieces(-6.0).is_empty());
    }
}
