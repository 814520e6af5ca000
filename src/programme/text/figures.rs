//! Policy, crews, money and hazards as they are written, each with its default and the mark of that default.
//!
//! Marks: "published" figures were read in the cited source, "derived" ones computed from such, "memory" is known but
//! not read, "proposed" is judgement, "common practice" is what most of the trade does.

use super::Completing;
use super::twins::{
    ByMethod, WrittenBudget, WrittenCosts, WrittenCrews, WrittenHazards, WrittenPolicy,
    WrittenRemovals,
};
use crate::Error;
use crate::pole::{Method, RemovalCause};
use crate::programme::money::Limits;
use crate::programme::{Budget, Costs, Crews, Hazards, ListedRemovals, Policy, Removals, Round};
use crate::units::{Date, Fraction};
use toml::Value;

/// A figure that has a default: its key, the default, and what stands behind the default.
pub(super) struct Default<T> {
    key: &'static str,
    value: T,
    mark: &'static str,
}

/// A figure's key, default and mark.
pub(super) const fn default<T: Copy>(
    key: &'static str,
    value: T,
    mark: &'static str,
) -> Default<T> {
    Default { key, value, mark }
}

const MEMORY: &str = "memory, low confidence";
const PROPOSED: &str = "proposed";

/// Poles in a crew-day, in the order of [`Method::ALL`].
const POLES_PER_CREW_DAY: [Default<f64>; 6] = [
    default("crews.poles_per_crew_day.patrol", 200.0, MEMORY),
    default("crews.poles_per_crew_day.sound", 100.0, PROPOSED),
    default("crews.poles_per_crew_day.sound_and_bore", 70.0, MEMORY),
    default("crews.poles_per_crew_day.partial_excavation", 45.0, MEMORY),
    default("crews.poles_per_crew_day.full_excavation", 30.0, MEMORY),
    default("crews.poles_per_crew_day.instrument", 60.0, PROPOSED),
];

/// Costs of one inspection, in the order of [`Method::ALL`]: 42 for an intrusive one is derived from a regulator's
/// figures (US dollars of 2012); digging all round costs about four times as much (a trade author's ratio of 1979).
const INSPECTION_COST: [Default<f64>; 6] = [
    default("costs.inspection.patrol", 15.0, PROPOSED),
    default("costs.inspection.sound", 30.0, PROPOSED),
    default(
        "costs.inspection.sound_and_bore",
        42.0,
        "derived from a regulator's figures of 2012",
    ),
    default("costs.inspection.partial_excavation", 85.0, PROPOSED),
    default(
        "costs.inspection.full_excavation",
        168.0,
        "derived: four times sound and bore, a ratio published in 1979",
    ),
    default("costs.inspection.instrument", 60.0, PROPOSED),
];

/// An emergency replacement over a planned one.
const EMERGENCY_FACTOR: f64 = 1.5;
/// What a failure causes besides, in planned replacements.
const CONSEQUENCE_FACTOR: f64 = 1.0;
/// A reinforcement over a planned replacement.
const REINFORCEMENT_FACTOR: f64 = 0.30;

impl Completing<'_> {
    /// The given value within its range, or the default, which is then noted as assumed.
    pub(super) fn figure(
        &mut self,
        given: Option<f64>,
        of: &Default<f64>,
        range: std::ops::RangeInclusive<f64>,
    ) -> Result<f64, Error> {
        if let Some(value) = given {
            return self.number(of.key, value, range);
        }
        self.assume(of.key, &of.value, of.mark);
        Ok(of.value)
    }

    fn figures_by_method(
        &mut self,
        given: ByMethod,
        defaults: &[Default<f64>; 6],
        range: &std::ops::RangeInclusive<f64>,
    ) -> Result<[f64; Method::ALL.len()], Error> {
        let mut figures = [0.0; Method::ALL.len()];
        for ((figure, given), of) in figures.iter_mut().zip(given.in_order()).zip(defaults) {
            *figure = self.figure(given, of, range.clone())?;
        }
        Ok(figures)
    }

    /// Years of a planned treatment. They are the agent's, in `models/agents.toml`; only where the programme names no
    /// agent they need a value here.
    fn treatment_years(
        &mut self,
        written: &WrittenPolicy,
        needed: bool,
    ) -> Result<Option<f64>, Error> {
        let years = default(
            "policy.treatment_years",
            8.0,
            "published agents last 3 to 10 years or more; 8 is proposed",
        );
        if needed {
            self.assume(
                "policy.remedial_agent",
                &"whichever reaches the decay that is found",
                PROPOSED,
            );
        }
        (needed || written.treatment_years.is_some())
            .then(|| self.figure(written.treatment_years, &years, 0.5..=50.0))
            .transpose()
    }

    /// Whether rejects are reinforced, and the share of them that can be: as in the past, when not given.
    fn reinforcing(
        &mut self,
        written: &WrittenPolicy,
        removals: &Removals,
    ) -> Result<(bool, Fraction), Error> {
        let reinforce = written.reinforce.unwrap_or(false);
        let share = default(
            "policy.reinforceable_share",
            removals.reinforced_share.get(),
            "the share of rejects reinforced so far, removals.reinforced_share",
        );
        let share = if reinforce || written.reinforceable_share.is_some() {
            self.figure(written.reinforceable_share, &share, 0.0..=1.0)?
        } else {
            share.value
        };
        Ok((reinforce, Fraction::clamped(share)))
    }

    pub(super) fn policy(
        &mut self,
        written: &WrittenPolicy,
        removals: &Removals,
    ) -> Result<Policy, Error> {
        let method = self.word("policy.method", written.method.as_deref())?;
        if method.is_none() {
            self.assume("policy.method", &"sound_and_bore", "common practice");
        }
        let days = default("policy.make_safe_within_days", 1.0, PROPOSED);
        let remedial_treatment = written.remedial_treatment.unwrap_or(false);
        let remedial_agent =
            self.word("policy.remedial_agent", written.remedial_agent.as_deref())?;
        let treatment_years =
            self.treatment_years(written, remedial_treatment && remedial_agent.is_none())?;
        let (reinforce, reinforceable_share) = self.reinforcing(written, removals)?;
        Ok(Policy {
            method: method.unwrap_or(Method::SoundAndBore),
            replace_within_years: self.figure(
                written.replace_within_years,
                &default("policy.replace_within_years", 1.0, PROPOSED),
                0.0..=20.0,
            )?,
            make_safe_within_days: match written.make_safe_within_days {
                Some(given) => self.whole(days.key, Some(given), 1, 0..=365)? as i32,
                None => self.figure(None, &days, 0.0..=365.0)? as i32,
            },
            remedial_treatment,
            remedial_agent,
            treatment_years,
            reinforce,
            reinforcement_life_years: self.figure(
                written.reinforcement_life_years,
                &default(
                    "policy.reinforcement_life_years",
                    20.0,
                    "proposed: no source was read; take what the maker states",
                ),
                1.0..=80.0,
            )?,
            reinforceable_share,
            exempt_inspected_within_years: self.figure(
                written.exempt_inspected_within_years,
                &default("policy.exempt_inspected_within_years", 3.0, PROPOSED),
                0.0..=50.0,
            )?,
            round: self
                .word("policy.round", written.round.as_deref())?
                .unwrap_or(Round::Line),
            worst_first_within: Fraction::clamped(self.figure(
                written.worst_first_within,
                &default("policy.worst_first_within", 0.02, PROPOSED),
                0.0..=0.5,
            )?),
            new_species: self.word("policy.new_species", written.new_species.as_deref())?,
            new_preservative: self.word(
                "policy.new_preservative",
                written.new_preservative.as_deref(),
            )?,
        })
    }

    pub(super) fn crews(&mut self, written: &WrittenCrews) -> Result<Crews, Error> {
        let days = default(
            "crews.crew_days_per_year",
            220.0,
            "proposed: one crew through a working year",
        );
        Ok(Crews {
            crew_days_per_year: self.figure(written.crew_days_per_year, &days, 0.0..=1e6)?,
            poles_per_crew_day: self.figures_by_method(
                written.poles_per_crew_day,
                &POLES_PER_CREW_DAY,
                &(0.1..=10_000.0),
            )?,
        })
    }

    /// What a brace and a treatment cost. Their defaults are assumed only where the policy uses them.
    fn keeping_costs(
        &mut self,
        written: &WrittenCosts,
        policy: &Policy,
        (replacement, inspection): (f64, f64),
    ) -> Result<(f64, f64), Error> {
        let brace = default(
            "costs.reinforcement",
            REINFORCEMENT_FACTOR * replacement,
            "proposed: 0.30 of a planned replacement, 0.15 to 0.40",
        );
        let treatment = default(
            "costs.remedial_treatment",
            inspection,
            "proposed: as much as the inspection at which it is given",
        );
        let mut cost = |given: Option<f64>, of: &Default<f64>, used: bool| {
            if used || given.is_some() {
                self.figure(given, of, 0.0..=1e12)
            } else {
                Ok(of.value)
            }
        };
        Ok((
            cost(written.reinforcement, &brace, policy.reinforce)?,
            cost(
                written.remedial_treatment,
                &treatment,
                policy.remedial_treatment,
            )?,
        ))
    }

    pub(super) fn costs(
        &mut self,
        written: &WrittenCosts,
        policy: &Policy,
    ) -> Result<Costs, Error> {
        let money = 0.0..=1e12;
        let replacement = self.figure(
            written.replacement,
            &default(
                "costs.replacement",
                8_000.0,
                "derived from several published figures, 2,000 to 15,000",
            ),
            0.01..=1e12,
        )?;
        let failure = default(
            "costs.failure",
            (EMERGENCY_FACTOR + CONSEQUENCE_FACTOR) * replacement,
            "proposed: an emergency replacement at 1.5 planned ones, and consequences worth one more",
        );
        if written.below_limit_year.is_none() {
            self.assume(
                "costs.below_limit_year",
                &"twice the yearly cost of a pole, less its cost of failure at the limit",
                PROPOSED,
            );
        }
        let inspection = self.figures_by_method(written.inspection, &INSPECTION_COST, &money)?;
        let usual = inspection[policy.method.index()];
        let (reinforcement, remedial_treatment) =
            self.keeping_costs(written, policy, (replacement, usual))?;
        Ok(Costs {
            currency: self.currency(written)?,
            inspection,
            replacement,
            reinforcement,
            remedial_treatment,
            failure: self.figure(written.failure, &failure, money.clone())?,
            discount_rate: self.figure(
                written.discount_rate,
                &default("costs.discount_rate", 0.05, PROPOSED),
                0.0..=0.5,
            )?,
            below_limit_year: written
                .below_limit_year
                .map(|value| self.number("costs.below_limit_year", value, money))
                .transpose()?,
        })
    }

    /// Limits of money: a number for every year, or a list by year.
    pub(super) fn budget(
        &self,
        written: &WrittenBudget,
        costs: &WrittenCosts,
    ) -> Result<Budget, Error> {
        Ok(Budget {
            operating: self.limits("budget.operating", written.operating.as_ref(), costs)?,
            capital: self.limits("budget.capital", written.capital.as_ref(), costs)?,
        })
    }

    fn limits(
        &self,
        key: &str,
        given: Option<&Value>,
        costs: &WrittenCosts,
    ) -> Result<Option<Limits>, Error> {
        let Some(given) = given else { return Ok(None) };
        if costs.currency.is_none() {
            return Err(self.place.fault(
                key,
                "a limit of money without a currency",
                "give costs.currency and costs.price_year, for example \"EUR\" and 2026",
            ));
        }
        let amount = |value: &Value| {
            let number = match value {
                Value::Integer(whole) => *whole as f64,
                Value::Float(number) => *number,
                _ => f64::NAN,
            };
            self.number(key, number, 0.0..=1e15)
        };
        Ok(Some(match given {
            Value::Array(years) => {
                Limits::ByYear(years.iter().map(amount).collect::<Result<_, _>>()?)
            }
            one => Limits::EveryYear(amount(one)?),
        }))
    }

    /// Currency and price year, both or none.
    fn currency(&self, written: &WrittenCosts) -> Result<Option<(String, i16)>, Error> {
        match (written.currency.as_deref().map(str::trim), written.price_year) {
            (None, None) => Ok(None),
            (Some(currency), Some(year)) if !currency.is_empty() => {
                let year = self.whole("costs.price_year", Some(year), 0, 1900..=2200)?;
                Ok(Some((currency.to_owned(), year as i16)))
            }
            (currency, _) => Err(self.place.fault(
                "costs",
                if currency.is_none() {
                    "price_year without currency"
                } else {
                    "currency without price_year"
                },
                "give both, for example currency = \"EUR\" and price_year = 2026, or none; without them no sums are printed",
            )),
        }
    }

    pub(super) fn removals(&mut self, written: &WrittenRemovals) -> Result<Removals, Error> {
        let share = default("removals.reinforced_share", 0.0, PROPOSED);
        let years = default("removals.mean_years_to_removal", 1.0, PROPOSED);
        Ok(Removals {
            reinforced_share: Fraction::clamped(self.figure(
                written.reinforced_share,
                &share,
                0.0..=1.0,
            )?),
            mean_years_to_removal: self.figure(
                written.mean_years_to_removal,
                &years,
                0.01..=50.0,
            )?,
            listed: self.listed_removals(written)?,
        })
    }

    /// Which removed poles are listed: all causes where none is named.
    fn listed_removals(&self, written: &WrittenRemovals) -> Result<Option<ListedRemovals>, Error> {
        let causes = written.listed_causes.as_deref();
        let Some(year) = written.listed_since else {
            return match causes {
                None => Ok(None),
                Some(_) => Err(self.place.fault(
                    "removals.listed_causes",
                    "causes without the year since which they are listed",
                    "give listed_since as well: listed_since = 2015",
                )),
            };
        };
        let year = self.whole("removals.listed_since", Some(year), 0, 1900..=2200)?;
        let mut listed = [causes.is_none(); RemovalCause::ALL.len()];
        for word in causes.unwrap_or_default() {
            if let Some(cause) = self.word::<RemovalCause>("removals.listed_causes", Some(word))? {
                listed[cause.index()] = true;
            }
        }
        Ok(Some(ListedRemovals {
            since: Date::constant(year as i16, 1, 1),
            causes: listed,
        }))
    }

    pub(super) fn hazards(&mut self, written: &WrittenHazards) -> Result<Hazards, Error> {
        Ok(Hazards {
            use_of_capacity: self.figure(
                written.use_of_capacity,
                &default("hazards.use_of_capacity", 0.35, PROPOSED),
                0.01..=1.5,
            )?,
            strength_cov: self.figure(
                written.strength_cov,
                &default("hazards.strength_cov", 0.20, PROPOSED),
                0.01..=0.6,
            )?,
            other_demand: self.figure(
                written.other_demand,
                &default("hazards.other_demand", 0.003, PROPOSED),
                0.0..=0.5,
            )?,
            load_factor: written
                .load_factor
                .map(|factor| self.number("hazards.load_factor", factor, 0.5..=10.0))
                .transpose()?,
        })
    }
}
