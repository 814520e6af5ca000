//! What the inspections of one pole say about one state of its wood (model sections 2 and 4).
//!
//! Two numbers come out for every state: how likely the recorded outcomes are, and how likely it is that a pole with
//! these visits is still listed at all. The second is the denominator that keeps survivors from looking too healthy.

use super::gone::Listing;
use super::nuisances::{ByNode, Figures, MOST_NODES};
use super::reinforced::{self, InData, Reinforced};
use crate::maths::{exp, normal_cdf, normal_pdf};
use crate::pole::{Inspection, Method, Mode, RemovalCause, SeenMode, Verdict};
use crate::programme::{RejectRule, Removals};
use crate::units::{Date, Mm, years_between};
use crate::wood::section::{progress_of_strength, progress_per_mm};
use crate::wood::strength::{Required, limit_progress_bearing, measured_strength};
use crate::wood::{Detection, MethodDetection, Upkeep};

/// Least likelihood of any recorded outcome: records contradict each other now and then, and a state must never be
/// ruled out by one slip of the pen.
const LEAST_LIKELIHOOD: f64 = 1e-9;

/// Findings of a pole that are weighed: of more, the latest. The product of several hundred likelihoods is below every
/// number that a double holds, and then a pole that was condemned each time would count as sound; no pole is inspected
/// a hundred times, and what the latest hundred say no earlier one changes.
const MOST_FINDINGS: usize = 100;

/// Readings are written down in whole millimetres: what is less than half of one is no loss.
const HALF_A_MM: f64 = 0.5;

/// Share of verdicts on measured decay that are given for something else than the reading (proposed): one that does not fit
/// its reading makes a false find likelier, but not ten times.
const JUDGED_BY_OTHER_THINGS: f64 = 0.1;

/// What one inspection recorded, as far as one mode and diameter are concerned.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Outcome {
    /// No decay found.
    NoDecay,
    /// Decay found, judged above the limit.
    Kept,
    /// Decay found where a reinforcement bridges it, whatever was judged of it.
    Bridged,
    /// Judged below the limit.
    Rejected,
    /// A reading, in progress, with its standard deviation.
    Reading { progress: f64, sd: f64 },
    /// Decay found and measured, but no wood lost: a reading below half a millimetre, which is `half` in progress.
    NothingLost { half: f64, sd: f64 },
}

/// One inspection, made ready for the states of one mode and diameter.
#[derive(Debug, Clone, Copy)]
pub struct Visit {
    /// Years from the visit to the plan date.
    pub years_ago: f64,
    outcome: Outcome,
    /// Chance of its verdict where a reading is of decay that is there, and where it is of decay that is not.
    verdict_of_reading: [f64; 2],
    /// Whether it judged the pole below the limit, where what it found is known.
    condemned: Option<bool>,
    /// Whether the decay that was seen can be of this mode.
    of_this_mode: bool,
    /// Whether the method sees decay that is hidden from the others.
    sees_hidden: bool,
    detection: MethodDetection,
    method: Method,
    limit: f64,
    /// Whether a reinforcement holds the groundline at the visit.
    bridged: bool,
    still_listed: f64,
    /// What becomes of poles condemned at this visit and reinforced; `None` where rejects are not reinforced.
    reinforced: Option<reinforced::Terms>,
    /// Chance that a pole condemned at this visit was still listed on the day since which removed poles are; `None` for
    /// later visits, and where removed poles are not listed.
    then_listed: Option<f64>,
}

/// What is the same for all visits of a pole.
#[derive(Debug, Clone, Copy)]
pub struct Terms<'a> {
    /// How well methods see.
    pub detection: &'a Detection,
    /// Limits and the days from which they are in force.
    pub rejects: &'a [RejectRule],
    /// What becomes of rejects.
    pub removals: Removals,
    /// The plan date.
    pub plan_from: Date,
    /// What the pole must bear.
    pub required: Option<Required>,
    /// The last day whose findings are known; of later visits only that they took place.
    pub known_until: Date,
    /// How far the lists hold removed poles, for a pole that would be found among them.
    pub listing: Option<Listing>,
    /// Years for which a reinforcement holds.
    pub brace_years: f64,
}

impl Terms<'_> {
    /// Chance that a pole condemned for good so many years ago is in the data: not removed yet, or removed since removals
    /// are listed, with a record that can be used.
    fn in_data_when_condemned(&self, years_ago: f64) -> f64 {
        let listed = self.removals.not_yet_removed(years_ago);
        let Some(listing) = self.listing else {
            return listed;
        };
        let then = self.removals.not_yet_removed(years_ago + listing.since);
        listed + listing.usable[RemovalCause::Condemned.index()] * (then - listed)
    }
}

/// The visits that say something about the wood, made ready for one mode and diameter. A visit after the last day whose
/// findings are known says only that its pole is still listed.
///
/// Nobody condemns a pole for decay that a reinforcement bridges: while one holds the groundline, what was judged says
/// nothing of how far the wood has gone, only that decay was seen. How likely a pole with these visits is to be listed at
/// all is another question, of poles that nobody knows to be reinforced: there the limit counts.
pub fn prepare(
    inspections: &[Inspection],
    terms: &Terms<'_>,
    upkeep: &Upkeep,
    mode: Mode,
    diameter: Mm,
) -> Vec<Visit> {
    let mut visits: Vec<Visit> = inspections
        .iter()
        .filter(|inspection| {
            inspection.verdict != Verdict::NotInspected || inspection.date > terms.known_until
        })
        .map(|inspection| {
            let visit = Visit::new(inspection, terms, mode, diameter);
            if upkeep.is_braced(-visit.years_ago) {
                visit.bridged()
            } else {
                visit
            }
        })
        .collect();
    // An inventory holds them by date.
    visits.drain(..visits.len().saturating_sub(MOST_FINDINGS));
    if let Some(last) = visits.last().map(|visit| visit.years_ago) {
        for reinforced in visits
            .iter_mut()
            .filter_map(|visit| visit.reinforced.as_mut())
        {
            reinforced.seen_after = last <= reinforced.until;
        }
    }
    visits
}

impl Visit {
    fn new(inspection: &Inspection, terms: &Terms<'_>, mode: Mode, diameter: Mm) -> Self {
        let detection = *terms.detection.of(inspection.method);
        let years_ago = years_between(inspection.date, terms.plan_from);
        let outcome = Outcome::of(inspection, &detection, mode, diameter);
        let limit = limit_progress_bearing(
            terms.rejects,
            inspection.date,
            mode,
            diameter,
            terms.required,
        );
        Self {
            years_ago,
            verdict_of_reading: outcome.chance_of_verdict(
                inspection.verdict.is_reject(),
                limit,
                &detection,
            ),
            condemned: (inspection.date <= terms.known_until)
                .then(|| inspection.verdict.is_reject()),
            outcome,
            of_this_mode: seen_mode(inspection).is_none_or(|seen| match seen {
                SeenMode::External => mode == Mode::External,
                SeenMode::Internal => mode == Mode::Internal,
                SeenMode::Both => true,
            }),
            sees_hidden: !Detection::hides_from(inspection.method),
            method: inspection.method,
            detection,
            limit,
            bridged: false,
            still_listed: terms.removals.still_listed(years_ago),
            reinforced: Some(terms.removals.reinforced_share.get())
                .filter(|share| *share > 0.0)
                .map(|share| reinforced::Terms {
                    share,
                    until: years_ago - terms.brace_years,
                    seen_after: false,
                    kept: terms.in_data_when_condemned(years_ago),
                }),
            then_listed: terms
                .listing
                .map(|listing| years_ago + listing.since)
                .filter(|before| *before > 0.0)
                .map(|before| terms.removals.still_listed(before)),
        }
    }

    /// The same visit to a pole that a reinforcement holds.
    fn bridged(self) -> Self {
        Self {
            bridged: true,
            verdict_of_reading: [1.0; 2],
            outcome: match self.outcome {
                Outcome::Rejected | Outcome::Kept => Outcome::Bridged,
                other => other,
            },
            ..self
        }
    }

    /// Whether poles condemned at this visit may have been reinforced.
    pub fn reinforces(&self) -> bool {
        self.reinforced.is_some()
    }

    /// What does not depend on how well the method sees: the chance that decay of this progress is judged below the limit.
    fn judged_below(&self, progress: f64) -> f64 {
        if progress > 0.0 {
            sure_or_cdf((progress - self.limit) / self.detection.verdict_sd)
        } else {
            0.0
        }
    }

    /// Density of the reading, where there is one, for decay of this progress whose readings scatter `scatter` times as far
    /// as the table says; of a reading that is written down as no loss, its chance.
    fn density(&self, progress: f64, scatter: f64) -> f64 {
        match self.outcome {
            Outcome::Reading { progress: read, sd } if self.of_this_mode => {
                let sd = sd * scatter;
                normal_pdf((read - progress) / sd) / sd
            }
            Outcome::NothingLost { half, sd } if self.of_this_mode => {
                sure_or_cdf((half - progress) / (sd * scatter))
            }
            _ => 0.0,
        }
    }

    /// Likelihood of the outcome and chance of a reject verdict, for a chance `seen` of seeing the decay.
    #[inline]
    fn weigh(&self, seen: f64, judged_below: f64, density: f64) -> (f64, f64) {
        let MethodDetection {
            false_find,
            false_reject,
            ..
        } = self.detection;
        let [of_true, of_false] = self.verdict_of_reading;
        let truly = (1.0 - false_find) * seen;
        let rejected = truly * judged_below + false_find * false_reject;
        let truly_here = if self.of_this_mode { truly } else { 0.0 };
        let likelihood = match self.outcome {
            Outcome::NoDecay => (1.0 - false_find) * (1.0 - seen),
            Outcome::Kept => truly_here * (1.0 - judged_below) + false_find * (1.0 - false_reject),
            Outcome::Bridged => truly_here + false_find,
            Outcome::Rejected => truly_here * judged_below + false_find * false_reject,
            Outcome::Reading { progress: read, .. } => {
                let uniform = if (0.0..=1.0).contains(&read) {
                    false_find
                } else {
                    0.0
                };
                truly_here * density * of_true + uniform * of_false
            }
            // Readings of decay that is not there are even between nothing and the limit.
            Outcome::NothingLost { half, .. } => {
                truly_here * density * of_true + false_find * half * of_false
            }
        };
        (likelihood.max(LEAST_LIKELIHOOD), rejected)
    }
}

/// The normal distribution function; beyond six standard deviations (1e-9) there is nothing left to compute.
fn sure_or_cdf(z: f64) -> f64 {
    if z.abs() < 6.0 {
        normal_cdf(z)
    } else {
        f64::from(u8::from(z > 0.0))
    }
}

impl Outcome {
    fn of(inspection: &Inspection, detection: &MethodDetection, mode: Mode, diameter: Mm) -> Self {
        if inspection.verdict == Verdict::Sound {
            return Self::NoDecay;
        }
        let read =
            measured_strength(inspection, diameter).map(|left| progress_of_strength(mode, left));
        let per_mm = progress_per_mm(mode, diameter);
        let sd = detection.measure_sd_mm[mode.index()] * per_mm;
        match (read, own_loss(inspection, mode, diameter)) {
            (Some(progress), _) if progress > 0.0 => Self::Reading { progress, sd },
            _ if inspection.verdict.is_reject() => Self::Rejected,
            // More wood than a pole of this diameter has: the diameter is another, or the reading is off.
            (Some(_), Some(lost)) if lost < -HALF_A_MM => Self::Reading {
                progress: lost * per_mm,
                sd,
            },
            (Some(_), Some(_)) => Self::NothingLost {
                half: HALF_A_MM * per_mm,
                sd,
            },
            _ => Self::Kept,
        }
    }

    /// Chance of the verdict that goes with a reading, of decay that is there and of decay that is not: a verdict scatters
    /// around the reading by what the reading's own scatter, as the table has it, leaves of the verdicts'. The two differ little but for verdicts
    /// against the wood, which false finds seldom lead to.
    fn chance_of_verdict(self, reject: bool, limit: f64, detection: &MethodDetection) -> [f64; 2] {
        let (read, sd) = match self {
            Self::Reading { progress, sd } => (progress, sd),
            Self::NothingLost { sd, .. } => (0.0, sd),
            _ => return [1.0; 2],
        };
        let rest = (detection.verdict_sd * detection.verdict_sd - sd * sd).max(0.0);
        let beyond = (read - limit) / rest.sqrt().max(1e-6);
        let by_reading = sure_or_cdf(if reject { beyond } else { -beyond });
        let by_false_find = if reject {
            detection.false_reject
        } else {
            1.0 - detection.false_reject
        };
        let other = JUDGED_BY_OTHER_THINGS;
        [
            (1.0 - other) * by_reading + other * by_false_find,
            by_false_find,
        ]
    }
}

/// The wood that is lost by the reading that belongs to a mode, mm; negative where there is more than the diameter allows,
/// `None` without such a reading.
fn own_loss(inspection: &Inspection, mode: Mode, diameter: Mm) -> Option<f64> {
    let radius = diameter.0 / 2.0;
    match mode {
        Mode::External => inspection
            .outside_decay_depth
            .map(|depth| depth.0)
            .or_else(|| {
                let left = inspection.remaining_circumference?;
                Some(radius - left.diameter_of_circumference().0 / 2.0)
            }),
        Mode::Internal => inspection
            .sound_shell
            .or(inspection.least_sound_shell)
            .map(|shell| radius - shell.0),
    }
}

/// Where decay was seen: as recorded, or as the readings imply.
fn seen_mode(inspection: &Inspection) -> Option<SeenMode> {
    let lost = |length: Option<Mm>| length.is_some_and(|mm| mm.0 > 0.0);
    let outside = lost(inspection.outside_decay_depth)
        || !inspection.pockets.is_empty()
        || inspection.remaining_circumference.is_some();
    inspection.seen_mode.or(
        match (
            inspection.verdict,
            outside,
            inspection
                .sound_shell
                .or(inspection.least_sound_shell)
                .is_some(),
        ) {
            (Verdict::Sound, ..) | (_, false, false) => None,
            (_, true, false) => Some(SeenMode::External),
            (_, false, true) => Some(SeenMode::Internal),
            (_, true, true) => Some(SeenMode::Both),
        },
    )
}

/// What all visits say of one state, at every node of the uncertain figures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weight {
    /// Likelihood of the recorded outcomes, if the decay can be seen.
    pub open: ByNode,
    /// Likelihood of the recorded outcomes, if the decay is hidden from all methods but full excavation.
    pub hidden: ByNode,
    /// Chance that a pole with these visits is still listed, survival in wind apart.
    pub listed: ByNode,
    /// Chance that it was on the day since which removed poles are listed.
    pub then_listed: ByNode,
    /// What reinforcement adds to the chance of being in the data: poles condemned and reinforced stand in winds that
    /// would have felled them.
    pub reinforced: ByNode,
}

/// Weighs one state; `progress_at` gives the progress so many years before the plan date, `in_data` how likely a pole is
/// to be in the data that was reinforced so many years before it.
///
/// A pole is listed when no round condemned it, or when it was condemned and has not been removed since:
/// `U = prod (1 - r)`, `B = sum of U r kappa(lag)`, listed = `U + B`. Visits of unknown outcome give the same sum to the
/// likelihood: all that is known of them is that the pole is still listed.
pub fn weigh(
    visits: &[Visit],
    nodes: &[Figures],
    progress_at: impl Fn(f64) -> f64,
    in_data: impl Fn(f64) -> InData,
) -> Weight {
    let mut open = Lanes::default();
    let mut hidden = Lanes::default();
    for visit in visits {
        let progress = progress_at(visit.years_ago);
        let reinforced = visit
            .reinforced
            .map(|terms| (terms, in_data(visit.years_ago)));
        let unseen = visit.weigh(0.0, 0.0, 0.0);
        let mut likelihood = [unseen.0; MOST_NODES];
        let mut rejected = [unseen.1; MOST_NODES];
        let hides = progress > 0.0 && !visit.sees_hidden;
        if hides {
            hidden.pass(visit, reinforced, [&likelihood, &rejected], nodes.len());
        }
        if progress > 0.0 {
            let judged_below = visit.judged_below(progress);
            for (node, figures) in nodes.iter().enumerate() {
                let seen = 1.0 - exp(figures.ln_miss[visit.method.index()] * progress);
                let density = visit.density(progress, figures.reading);
                (likelihood[node], rejected[node]) = visit.weigh(seen, judged_below, density);
            }
        }
        open.pass(visit, reinforced, [&likelihood, &rejected], nodes.len());
        if !hides {
            hidden.pass(visit, reinforced, [&likelihood, &rejected], nodes.len());
        }
    }
    let mut weight = Weight {
        open: [0.0; MOST_NODES],
        hidden: [0.0; MOST_NODES],
        listed: [0.0; MOST_NODES],
        then_listed: [0.0; MOST_NODES],
        reinforced: [0.0; MOST_NODES],
    };
    for (node, figures) in nodes.iter().enumerate() {
        let share = figures.detection.hidden_share;
        let both = |open: f64, hidden: f64| (1.0 - share) * open + share * hidden;
        weight.open[node] = (1.0 - share) * open.likelihood(node);
        weight.hidden[node] = share * hidden.likelihood(node);
        weight.listed[node] = both(open.all.chance(node), hidden.all.chance(node));
        weight.then_listed[node] = both(open.then.chance(node), hidden.then.chance(node));
        weight.reinforced[node] = both(open.reinforced.added(node), hidden.reinforced.added(node));
    }
    weight
}

/// Running products through the rounds, at every node.
#[derive(Debug, Clone)]
struct Lanes {
    findings: ByNode,
    /// Those condemned and reinforced.
    reinforced: Reinforced,
    /// Through all rounds.
    all: Listed,
    /// Through those whose outcome is not known.
    unknown: Listed,
    /// Through those before the day since which removed poles are listed.
    then: Listed,
    /// Whether a known verdict has condemned the pole: it is listed all the same, and later rounds tell no more of that.
    condemned: bool,
}

impl Default for Lanes {
    fn default() -> Self {
        Self {
            findings: [1.0; MOST_NODES],
            reinforced: Reinforced::default(),
            all: Listed::default(),
            unknown: Listed::default(),
            then: Listed::default(),
            condemned: false,
        }
    }
}

impl Lanes {
    #[inline]
    fn pass(
        &mut self,
        visit: &Visit,
        reinforced: Option<(reinforced::Terms, InData)>,
        [likelihood, rejected]: [&ByNode; 2],
        nodes: usize,
    ) {
        if let Some((terms, in_data)) = &reinforced {
            let condemned = [&self.all.never_rejected, rejected];
            self.reinforced
                .pass(visit.years_ago, terms, *in_data, condemned);
        }
        self.all.pass(rejected, visit.still_listed, nodes);
        if let Some(then_listed) = visit.then_listed {
            self.then.pass(rejected, then_listed, nodes);
        }
        if let Some(condemned) = visit.condemned {
            for (sum, part) in self.findings[..nodes].iter_mut().zip(likelihood) {
                *sum *= part;
            }
            self.condemned |= condemned;
        } else if !self.condemned && !visit.bridged {
            self.unknown.pass(rejected, visit.still_listed, nodes);
        }
    }

    fn likelihood(&self, node: usize) -> f64 {
        self.findings[node] * self.unknown.chance(node)
    }
}

/// Chances of never having been condemned, and of having been and still being listed.
#[derive(Debug, Clone, Copy)]
struct Listed {
    never_rejected: ByNode,
    rejected_and_listed: ByNode,
}

impl Default for Listed {
    fn default() -> Self {
        Self {
            never_rejected: [1.0; MOST_NODES],
            rejected_and_listed: [0.0; MOST_NODES],
        }
    }
}

impl Listed {
    #[inline]
    fn pass(&mut self, rejected: &ByNode, still_listed: f64, nodes: usize) {
        let lanes = self.never_rejected[..nodes].iter_mut();
        let kept = self.rejected_and_listed[..nodes].iter_mut();
        for ((never, listed), rejected) in lanes.zip(kept).zip(rejected) {
            *listed += *never * rejected * still_listed;
            *never *= 1.0 - rejected;
        }
    }

    fn chance(&self, node: usize) -> f64 {
        self.never_rejected[node] + self.rejected_and_listed[node]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::maths::ln;
    use crate::units::Fraction;
    use jiff::civil::date;

    /// Reinforced or not, a pole is in the data.
    const NO_BRACE: InData = InData {
        reinforced: 1.0,
        plain: 1.0,
    };

    /// At the limit a half is seen; no false finds.
    const SEES_HALF: MethodDetection = MethodDetection {
        sensitivity: 0.5,
        false_find: 0.0,
        false_reject: 0.0,
        measure_sd_mm: [2.8, 7.0],
        verdict_sd: 0.3,
    };

    fn two_thirds() -> [RejectRule; 1] {
        [RejectRule {
            limit: crate::programme::Limit::Strength(Fraction::clamped(2.0 / 3.0)),
            from: None,
        }]
    }

    fn sees_half() -> Detection {
        Detection {
            methods: [SEES_HALF; Method::ALL.len()],
            hidden_share: 0.0,
        }
    }

    fn removals(reinforced: f64, mean_years_to_removal: f64) -> Removals {
        Removals {
            reinforced_share: Fraction::clamped(reinforced),
            mean_years_to_removal,
            listed: None,
        }
    }

    /// No limit, no reinforcement, removals within a year, everything known.
    fn terms(detection: &Detection) -> Terms<'_> {
        Terms {
            detection,
            rejects: &[],
            removals: removals(0.0, 1.0),
            plan_from: date(2025, 1, 1),
            required: None,
            known_until: date(2025, 1, 1),
            listing: None,
            brace_years: 20.0,
        }
    }

    fn figures(detection: &Detection) -> Figures {
        let ln_miss = detection.methods.map(|method| ln(1.0 - method.sensitivity));
        Figures {
            protected_shift: 0.0,
            spread: 1.0,
            ln_miss,
            reading: 1.0,
            sensitivity: 0.0,
            detection: *detection,
        }
    }

    #[test]
    fn a_pole_condemned_after_its_reinforcement_ended_is_in_the_data_where_such_removals_are_listed()
     {
        let (detection, rejects) = (sees_half(), two_thirds());
        let reinforced = |usable: f64| {
            let terms = Terms {
                rejects: &rejects,
                removals: removals(0.4, 1e-3),
                listing: Some(Listing {
                    since: -10.0,
                    usable: [usable, 0.0, 0.0],
                }),
                ..terms(&detection)
            };
            let look = |year| {
                Inspection::unmeasured(date(year, 6, 1), Method::SoundAndBore, Verdict::Sound)
            };
            let visits = prepare(
                &[look(2000), look(2022)],
                &terms,
                &Upkeep::default(),
                Mode::External,
                Mm(300.0),
            );
            let in_data = |years_ago: f64| InData {
                reinforced: f64::from(u8::from(years_ago > 10.0)),
                plain: 0.0,
            };
            weigh(&visits, &[figures(&detection)], |_| 1.0, in_data).reinforced[0]
        };
        // At the limit 0.25 are condemned in 2000 and 0.4 of them reinforced, until 2020; the visit of 2022 condemns 0.25 of
        // those, and they are gone: 0.1 x 0.75. Where the list holds what was condemned since 2015, they are in it.
        assert!(
            (reinforced(0.0) - 0.075).abs() < 1e-9,
            "{}",
            reinforced(0.0)
        );
        assert!((reinforced(1.0) - 0.1).abs() < 1e-9, "{}", reinforced(1.0));
    }

    #[test]
    fn misses_repeat_where_decay_is_hidden() {
        let detection = Detection {
            hidden_share: 0.15,
            ..sees_half()
        };
        let terms = terms(&detection);
        let sound =
            |year| Inspection::unmeasured(date(year, 6, 1), Method::SoundAndBore, Verdict::Sound);
        let visits = prepare(
            &[sound(2000), sound(2010), sound(2020)],
            &terms,
            &Upkeep::default(),
            Mode::External,
            Mm(300.0),
        );
        let weight = weigh(&visits, &[figures(&detection)], |_| 1.0, |_| NO_BRACE);
        // Three misses of one half each: 0.15 + 0.85 / 8 = 0.25625 instead of 0.125.
        assert!((weight.open[0] + weight.hidden[0] - 0.256_25).abs() < 1e-12);
    }

    #[test]
    fn a_visit_of_unknown_outcome_tells_only_that_the_pole_is_still_listed() {
        let detection = sees_half();
        let rejects = two_thirds();
        let mut terms = Terms {
            rejects: &rejects,
            removals: removals(0.2, 1e-3),
            known_until: date(2015, 1, 1),
            ..terms(&detection)
        };
        let look =
            |year, verdict| Inspection::unmeasured(date(year, 6, 1), Method::SoundAndBore, verdict);
        let weight = |terms: &Terms<'_>, verdicts: [Verdict; 2]| {
            let looks = [look(2010, verdicts[0]), look(2020, verdicts[1])];
            weigh(
                &prepare(&looks, terms, &Upkeep::default(), Mode::External, Mm(300.0)),
                &[figures(&detection)],
                |_| 1.0,
                |_| NO_BRACE,
            )
        };
        // At the limit a half is seen, half of that judged below it: r = 0.25, and of those 0.2 stay listed, so a
        // visit of unknown outcome leaves 0.75 + 0.25 x 0.2 = 0.8; the first visit missed: 0.5.
        let hidden = weight(&terms, [Verdict::Sound, Verdict::NotInspected]);
        assert!((hidden.open[0] - 0.5 * 0.8).abs() < 1e-9, "{hidden:?}");
        // Condemned already (0.25) and listed all the same: the later visit adds nothing.
        let condemned = weight(&terms, [Verdict::RejectReplace, Verdict::NotInspected]);
        assert!((condemned.open[0] - 0.25).abs() < 1e-9, "{condemned:?}");
        // Known or not, both rounds took place: listed at all 0.75^2 + 0.25 x 0.2 (1 + 0.75).
        assert!((hidden.listed[0] - 0.65).abs() < 1e-9, "{hidden:?}");
        terms.known_until = terms.plan_from;
        let never_done = weight(&terms, [Verdict::Sound, Verdict::NotInspected]);
        assert!(
            (never_done.open[0] - 0.5).abs() < 1e-9 && (never_done.listed[0] - 0.8).abs() < 1e-9
        );
    }

    #[test]
    fn the_outcomes_of_a_measured_visit_sum_to_one() {
        let method = MethodDetection {
            sensitivity: 0.6,
            false_find: 0.03,
            false_reject: 0.2,
            ..SEES_HALF
        };
        let detection = Detection {
            methods: [method; Method::ALL.len()],
            ..sees_half()
        };
        let terms = terms(&detection);
        // At a tenth of the way to the limit, in progress: a reading of 1.9 mm that scatters by 2.8.
        let chance = |inspection: Inspection| {
            let visits = prepare(
                &[inspection],
                &terms,
                &Upkeep::default(),
                Mode::External,
                Mm(300.0),
            );
            weigh(&visits, &[figures(&detection)], |_| 0.1, |_| NO_BRACE).open[0]
        };
        let on = date(2020, 1, 1);
        let sound = chance(Inspection::unmeasured(
            on,
            Method::SoundAndBore,
            Verdict::Sound,
        ));
        let judged = |depth: f64, verdict| {
            chance(Inspection {
                outside_decay_depth: Some(Mm(depth)),
                ..Inspection::unmeasured(on, Method::SoundAndBore, verdict)
            })
        };
        let read = |depth: f64| {
            judged(depth, Verdict::DecayServiceable) + judged(depth, Verdict::RejectReplace)
        };
        // Who rejects wood that has lost nothing saw something else: that is no reading.
        let nothing_lost = judged(0.0, Verdict::DecayServiceable);
        // Densities in progress; a whole millimetre stands for half a millimetre to either side.
        let millimetre = progress_per_mm(Mode::External, Mm(300.0));
        let readings: f64 = (1..=40).map(|mm| read(f64::from(mm)) * millimetre).sum();
        // Sums over whole millimetres are midpoint sums of smooth densities, but for the cut of false readings at the limit.
        // Of false finds with that reading (0.03 of half a millimetre) 0.8 are kept, of true ones 0.9 + 0.1 x 0.8.
        let falsely = 0.03 * HALF_A_MM * millimetre;
        let all_of_nothing_lost = (nothing_lost - 0.8 * falsely) / 0.98 + falsely;
        let total = sound + all_of_nothing_lost + readings;
        assert!((total - 1.0).abs() < 1e-3, "{total}");
        assert!(nothing_lost > 0.01, "{nothing_lost}");
    }
}
