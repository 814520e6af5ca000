//! How near the plan's years are to the best that there can be, and what more crew-days would do, in words.
//!
//! Takes the schedule's [`Proof`] as it is; computes nothing but shares. Sums of money only with currency and price year.

use super::calendar_year;
use super::quantities::{count, counted, money, to_decimals, to_figures, whole};
use super::screen::on_one_line;
use crate::programme::Programme;
use crate::programme::money::Account;
use crate::schedule::{Proof, Schedule};
use serde::Serialize;

/// Gaps below this share are said to be below it: they are roundings of the values of visits.
const LEAST_GAP: f64 = 0.001;

/// What one more crew-week, or a thousand more of money, in a year would do.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct CrewWeek {
    /// Year.
    pub year: i16,
    /// What visits would save more, at most.
    pub saves_at_most: f64,
}

/// The same work with other crew-days.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct WithOtherCrews {
    /// Crew-days over those of the programme.
    pub share_of_crew_days: f64,
    /// Visits that a rule calls for and that find no crew-days.
    pub not_planned: usize,
    /// Pole-years past the day that a law wants.
    pub pole_years_late_by_law: u64,
    /// Pole-years past the due year of the binding rule.
    pub pole_years_late: u64,
    /// What the visits save.
    pub saved: f64,
}

/// How good the years are.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct YearsChosen {
    /// What the visits save by going before their due years.
    pub saved: f64,
    /// What those of the best plan found save, of which some is given up so that the worst poles are reached earlier.
    pub saved_by_best: f64,
    /// What is given up, as a share.
    pub given_up: f64,
    /// Pole-years that poles below the limit at the plan date wait for their visit, expected, to the end of the schedule
    /// where none is planned.
    pub pole_years_waiting: f64,
    /// The same in the best plan found.
    pub pole_years_waiting_at_best: f64,
    /// What years filled in order, rules first, would have saved.
    pub saved_at_first: f64,
    /// What no plan of the same trips and crew-days saves more than, without being later by law or rule.
    pub saved_at_most: f64,
    /// Share of that which the best plan found may miss.
    pub gap: f64,
    /// Currency and price year; empty where the programme names none, and then sums are in its units of cost.
    pub unit: String,
    /// Trips whose years were chosen.
    pub trips: usize,
    /// Visits that a rule calls for and that find no crew-days.
    pub not_planned: usize,
    /// Pole-years past the day that a law wants.
    pub pole_years_late_by_law: u64,
    /// Pole-years past the due year of the binding rule.
    pub pole_years_late: u64,
    /// Crew-days of the fullest year over those of a mean year.
    pub fullest_year_over_mean: f64,
    /// The price of a crew-week, year by year.
    pub crew_weeks: Vec<CrewWeek>,
    /// What a thousand more of operating money in a year would save, at most; nothing where it has no limit.
    pub thousands: Vec<CrewWeek>,
    /// What fewer and more crew-days would make of it.
    pub other_crews: Vec<WithOtherCrews>,
}

/// How good the years of a schedule are.
pub fn years_chosen(programme: &Programme, schedule: &Schedule) -> YearsChosen {
    let proof: &Proof = &schedule.proof;
    let unit = (programme.costs.currency.as_ref()).map_or_else(String::new, |(currency, year)| {
        format!("{currency} of {year}")
    });
    let crew_weeks = proof.crew_week.iter().zip(0..);
    let thousands = proof.money.iter().zip(0..);
    let limited = |year| programme.budget.limit(Account::Operating, year).is_some();
    YearsChosen {
        saved: money(proof.reached),
        saved_by_best: money(proof.best),
        given_up: to_figures(proof.given_up(), 2),
        pole_years_waiting: to_figures(proof.waiting, 3),
        pole_years_waiting_at_best: to_figures(proof.waiting_at_best, 3),
        saved_at_first: money(proof.at_first),
        saved_at_most: money(proof.bound),
        gap: to_figures(proof.gap(), 2),
        unit,
        trips: proof.trips,
        not_planned: proof.not_planned,
        pole_years_late_by_law: proof.late_by_law,
        pole_years_late: proof.late_by_rule,
        fullest_year_over_mean: to_decimals(schedule.fullest_year(), 2),
        crew_weeks: crew_weeks
            .map(|(saves, year)| CrewWeek {
                year: calendar_year(programme, year),
                saves_at_most: money(*saves),
            })
            .collect(),
        thousands: thousands
            .filter(|(_, year)| limited(*year))
            .map(|(saves, year)| CrewWeek {
                year: calendar_year(programme, year),
                saves_at_most: money(1_000.0 * saves),
            })
            .collect(),
        other_crews: (proof.other_crews.iter())
            .map(|other| WithOtherCrews {
                share_of_crew_days: other.share,
                not_planned: other.not_planned,
                pole_years_late_by_law: other.late_by_law,
                pole_years_late: other.late_by_rule,
                saved: money(other.reached),
            })
            .collect(),
    }
}

/// The lines of the page.
pub fn lines(chosen: &YearsChosen) -> Vec<String> {
    let mut lines = Vec::new();
    if chosen.saved_at_most > 0.0 {
        lines.push(format!("  {}", nearness(chosen)));
    }
    lines.extend(given_up(chosen).map(|said| format!("  {said}")));
    lines.extend(price(chosen).map(|said| format!("  {said}")));
    lines.extend(price_of_money(chosen).map(|said| format!("  {said}")));
    lines.extend(other_crews(chosen).map(|said| format!("  {said}")));
    lines
}

/// How near the years are to the best.
pub fn nearness(chosen: &YearsChosen) -> String {
    let gap = if chosen.gap < LEAST_GAP {
        "less than 0.1".to_owned()
    } else {
        to_figures(chosen.gap * 100.0, 2).to_string()
    };
    let sums = if chosen.unit.is_empty() {
        String::new()
    } else {
        format!(
            ": {} of at most {} {}",
            whole(chosen.saved_by_best),
            whole(chosen.saved_at_most),
            on_one_line(&chosen.unit)
        )
    };
    let who = if chosen.given_up > 0.0 {
        "the best plan found saves"
    } else {
        "the visits save"
    };
    format!(
        "years: {who} all but {gap} % of what visits on the same trips can save, no later by rule{sums}"
    )
}

/// What of the best plan found is given up for the worst poles; nothing where nothing is.
pub fn given_up(chosen: &YearsChosen) -> Option<String> {
    if chosen.given_up <= 0.0 {
        return None;
    }
    Some(format!(
        "{} % of that is given up so that poles below the limit today wait less: {} years together instead of {}",
        to_figures(chosen.given_up * 100.0, 2),
        pole_years(chosen.pole_years_waiting),
        pole_years(chosen.pole_years_waiting_at_best)
    ))
}

/// Expected pole-years: few of them to two figures.
fn pole_years(years: f64) -> String {
    if years < 10.0 {
        to_figures(years, 2).to_string()
    } else {
        whole(years)
    }
}

/// The year in which one more crew-week would save most; nothing where no year is short.
pub fn price(chosen: &YearsChosen) -> Option<String> {
    let dearest = dearest(&chosen.crew_weeks)?;
    let sum = if chosen.unit.is_empty() {
        String::new()
    } else {
        format!(
            ": at most {} {}",
            whole(dearest.saves_at_most),
            on_one_line(&chosen.unit)
        )
    };
    Some(format!(
        "one more crew-week would save most in {}{sum}",
        dearest.year
    ))
}

/// The year in which more money for inspections would save most; nothing where none has a limit that binds.
pub fn price_of_money(chosen: &YearsChosen) -> Option<String> {
    let dearest = dearest(&chosen.thousands)?;
    let unit = on_one_line(&chosen.unit);
    Some(format!(
        "1,000 {unit} more for inspections would save most in {}: at most {} {unit} beside themselves",
        dearest.year,
        whole(dearest.saves_at_most)
    ))
}

/// The year in which more would save most, the earliest of equals.
fn dearest(of: &[CrewWeek]) -> Option<&CrewWeek> {
    of.iter()
        .filter(|year| year.saves_at_most > 0.0)
        .max_by(|a, b| {
            let order = a.saves_at_most.total_cmp(&b.saves_at_most);
            order.then(b.year.cmp(&a.year))
        })
}

/// What fewer and more crew-days would do; nothing where none of them leaves a visit without crew-days.
pub fn other_crews(chosen: &YearsChosen) -> Option<String> {
    let short = |other: &WithOtherCrews| other.not_planned > 0 || other.pole_years_late > 0;
    let any = chosen.other_crews.iter().any(short);
    if !any && chosen.not_planned == 0 && chosen.pole_years_late == 0 {
        return None;
    }
    let said = chosen.other_crews.iter().map(|other| {
        format!(
            "{} % of them {} and {}",
            whole(other.share_of_crew_days * 100.0),
            count(other.not_planned),
            count(other.pole_years_late as usize)
        )
    });
    let said: Vec<String> = said.collect();
    Some(format!(
        "with these crew-days{} {} no room and poles are {} late together; with {}",
        if chosen.thousands.is_empty() {
            ""
        } else {
            " and this money"
        },
        counted(chosen.not_planned, "visit finds", "visits find"),
        counted(chosen.pole_years_late as usize, "year", "years"),
        said.join(", with ")
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::programme::money::Limits;
    use crate::words::sample;

    #[test]
    fn the_gap_the_price_and_other_crews_are_said_with_money_only_in_its_currency() {
        let mut sample = sample::fleet();
        let said = |sample: &sample::Sample| {
            lines(&years_chosen(&sample.programme, &sample.plan.schedule))
        };
        assert_eq!(
            said(&sample),
            [
                "  years: the best plan found saves all but 1 % of what visits on the same trips can save, no later by rule",
                "  1 % of that is given up so that poles below the limit today wait less: 4 years together instead of 6.5",
                "  one more crew-week would save most in 2026",
                "  with these crew-days 1 visit finds no room and poles are 3 years late together; with 80 % of them 2 and 8, with 120 % of them 0 and 0"
            ]
        );
        sample.programme.costs.currency = Some(("EUR".to_owned(), 2026));
        let with_money = said(&sample);
        assert!(with_money[0].ends_with("by rule: 990 of at most 1,000 EUR of 2026"));
        assert!(with_money[2].ends_with("in 2026: at most 120 EUR of 2026"));
        sample.programme.budget.operating = Some(Limits::EveryYear(500.0));
        let with_limit = said(&sample);
        assert!(with_limit[3].ends_with("in 2026: at most 200 EUR of 2026 beside themselves"));
        // Where nothing is short there is nothing to say of more crews.
        let proof = &mut sample.plan.schedule.proof;
        *proof = Proof {
            reached: 5.0,
            best: 5.0,
            bound: 5.0,
            ..Proof::default()
        };
        assert_eq!(said(&sample).len(), 1);
        assert!(said(&sample)[0].starts_with("  years: the visits save"));
        assert!(said(&sample)[0].contains("all but less than 0.1 %"));
    }
}
