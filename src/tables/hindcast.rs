//! `hindcast.csv`, `scores.csv`, `reliability.csv` and `coverage.csv`: what earlier years would have forecast, and what
//! was found.

use super::{Column, Holds, Sheet, Value, column, measured};
use crate::pole::Vocabulary;
use crate::score::bands::Coverage;
use crate::score::hindcast::Hindcast;
use crate::score::metrics::{Bin, Catch, Measured};
use crate::score::scores::{Case, Rival, Scores};
use crate::words::Caution;
use crate::words::quantities::{to_decimals, to_figures};

/// All tables of a hindcast.
pub fn hindcast(back: &Hindcast) -> [Sheet<'_>; 4] {
    [
        forecasts(back),
        scores(back),
        reliability(back),
        coverage(back),
    ]
}

/// Every forecast with what was found.
fn forecasts(back: &Hindcast) -> Sheet<'_> {
    let cases: Vec<&Case> = back.years.iter().flat_map(|year| &year.cases).collect();
    let mut all = looked_at();
    all.extend(chances());
    all.extend(found());
    Sheet::new("hindcast", all, cases.len(), move |row| cases[row])
}

fn looked_at<'a>() -> Vec<Column<&'a Case>> {
    vec![
        column(
            "as_of",
            Holds::Whole,
            "year on whose first day the forecast could have been made",
            |case| Value::whole(case.as_of),
        ),
        column("pole_id", Holds::Text, "the owner's id", |case| {
            Value::text(case.id.as_str())
        }),
        column("line", Holds::Text, "line", |case| {
            Value::maybe_text(case.line.as_deref())
        }),
        column(
            "date",
            Holds::Day,
            "day of the next look into the pole's wood",
            |case| Value::Day(case.date),
        ),
        column("method", Holds::Text, "how it looked", |case| {
            Value::text(case.method.word())
        }),
        measured(
            "years",
            "age",
            Holds::Number,
            "age of the pole then; the mean where it is not recorded",
            |case| Value::number(to_decimals(case.age, 1)),
        ),
    ]
}

fn chances<'a>() -> Vec<Column<&'a Case>> {
    vec![
        column(
            "p_found_below_limit",
            Holds::Number,
            "chance that this look finds the pole below the limit, forecast from what was known then, among poles of which today's list still tells: what is scored",
            |case| chance(case.chances.listed),
        ),
        column(
            "p_found_if_none_had_left",
            Holds::Number,
            "the same chance as if no condemned pole ever left the list: what the ranking goes by",
            |case| chance(case.chances.all),
        ),
        column(
            "p_age_only",
            Holds::Number,
            "what p_found_below_limit is by age alone: a Weibull life curve fitted to what was known then",
            |case| rival(case, Rival::AgeKnown),
        ),
        column(
            "p_constant_rate",
            Holds::Number,
            "what it is by a constant yearly rate, fitted to what was known then",
            |case| rival(case, Rival::RateKnown),
        ),
        column(
            "p_age_only_hindsight",
            Holds::Number,
            "what it is by the age curve fitted to the very outcomes: no age curve of this form could have done better",
            |case| rival(case, Rival::AgeHindsight),
        ),
        column(
            "p_constant_rate_hindsight",
            Holds::Number,
            "what it is by the constant rate fitted to the very outcomes",
            |case| rival(case, Rival::RateHindsight),
        ),
    ]
}

fn found<'a>() -> Vec<Column<&'a Case>> {
    vec![
        column("verdict", Holds::Text, "what the look concluded", |case| {
            Value::text(case.verdict.word())
        }),
        column(
            "found_below_limit",
            Holds::Whole,
            "1 when it judged the pole below the limit, 0 otherwise",
            |case| Value::whole(u8::from(case.rejected)),
        ),
        column("caution", Holds::Text, "what a chance can never do", |_| {
            Value::text(Caution::Estimate.text())
        }),
    ]
}

fn rival(case: &Case, rival: Rival) -> Value {
    chance(case.rivals[rival as usize].listed)
}

/// A chance to four figures: it is scored, so it is not rounded to what a person reads.
fn chance(value: f64) -> Value {
    Value::number(to_figures(value, 4))
}

/// The scores of each year and of all together, with the label of the year.
fn scored(back: &Hindcast) -> Vec<(String, &Scores)> {
    let years = back.years.iter();
    let single = years.filter_map(|year| Some((year.year.to_string(), year.scores.as_ref()?)));
    let all = back.scores.iter().map(|scores| ("all".to_owned(), scores));
    single.chain(all).collect()
}

/// What all rows of a table by years share.
const AS_OF: &str =
    "year on whose first day the forecasts could have been made, or all years together";

/// One forecaster's row of the scores.
struct ScoreRow<'a> {
    as_of: String,
    scores: &'a Scores,
    rival: Option<usize>,
}

impl ScoreRow<'_> {
    fn forecaster(&self) -> &'static str {
        self.rival
            .map_or("forecast", |place| self.scores.against[place].rival.words())
    }

    fn log(&self) -> Measured {
        self.rival
            .map_or(self.scores.log, |place| self.scores.against[place].log)
    }

    fn brier(&self) -> Measured {
        self.rival
            .map_or(self.scores.brier, |place| self.scores.against[place].brier)
    }

    fn catch(&self, top: usize) -> Catch {
        self.rival.map_or(self.scores.catches[top], |place| {
            self.scores.against[place].catches[top]
        })
    }

    fn gain(&self) -> Option<Measured> {
        self.rival.map(|place| self.scores.against[place].log_gain)
    }
}

fn scores(back: &Hindcast) -> Sheet<'_> {
    let rows: Vec<(String, &Scores, Option<usize>)> = scored(back)
        .into_iter()
        .flat_map(|(as_of, scores)| {
            let rivals = (0..scores.against.len()).map(Some);
            [None]
                .into_iter()
                .chain(rivals)
                .map(move |rival| (as_of.clone(), scores, rival))
        })
        .collect();
    let mut all = score_columns();
    all.extend(catch_columns());
    Sheet::new("scores", all, rows.len(), move |row| {
        let (as_of, scores, rival) = &rows[row];
        ScoreRow {
            as_of: as_of.clone(),
            scores,
            rival: *rival,
        }
    })
}

fn score_columns<'a>() -> Vec<Column<ScoreRow<'a>>> {
    vec![
        column("as_of", Holds::Text, AS_OF, |row| {
            Value::text(row.as_of.as_str())
        }),
        column(
            "forecaster",
            Holds::Text,
            "the forecast, or what it is held to",
            |row| Value::text(row.forecaster()),
        ),
        measured(
            "inspections",
            "inspections",
            Holds::Whole,
            "looks that were forecast",
            |row| Value::whole(row.scores.cases),
        ),
        measured(
            "inspections",
            "found_below_limit",
            Holds::Whole,
            "of these found below the limit",
            |row| Value::whole(row.scores.found),
        ),
        column(
            "log_score",
            Holds::Number,
            "mean of minus the logarithm of the chance given to what happened; smaller is better",
            |row| figure(row.log().mean),
        ),
        column(
            "log_score_error",
            Holds::Number,
            "its standard error, looks at one line hanging together",
            |row| figure(row.log().standard_error),
        ),
        column(
            "brier_score",
            Holds::Number,
            "mean square of the chance less what happened; smaller is better",
            |row| figure(row.brier().mean),
        ),
        column(
            "brier_score_error",
            Holds::Number,
            "its standard error",
            |row| figure(row.brier().standard_error),
        ),
        column(
            "forecast_better_by",
            Holds::Number,
            "this log score less the forecast's: above 0 the forecast is better",
            |row| row.gain().map_or(Value::Empty, |gain| figure(gain.mean)),
        ),
        column(
            "forecast_better_by_error",
            Holds::Number,
            "its standard error",
            |row| {
                row.gain()
                    .map_or(Value::Empty, |gain| figure(gain.standard_error))
            },
        ),
    ]
}

fn catch_columns<'a>() -> Vec<Column<ScoreRow<'a>>> {
    vec![
        column(
            "caught_in_top_10",
            Holds::Number,
            "share of what was found below the limit that stood in the first tenth of the ranking",
            |row| figure(row.catch(0).share()),
        ),
        column(
            "caught_in_top_20",
            Holds::Number,
            "the same for the first fifth",
            |row| figure(row.catch(1).share()),
        ),
        column(
            "caught_in_top_20_low",
            Holds::Number,
            "lower end of its exact 95 % interval",
            |row| figure(row.catch(1).interval.low),
        ),
        column("caught_in_top_20_high", Holds::Number, "upper end", |row| {
            figure(row.catch(1).interval.high)
        }),
        column(
            "caught_in_top_30",
            Holds::Number,
            "the same for the first three tenths",
            |row| figure(row.catch(2).share()),
        ),
    ]
}

/// A score or share to four figures.
fn figure(value: f64) -> Value {
    Value::number(to_figures(value, 4))
}

fn reliability(back: &Hindcast) -> Sheet<'_> {
    let rows: Vec<(String, Bin)> = scored(back)
        .into_iter()
        .flat_map(|(as_of, scores)| scores.bins.iter().map(move |bin| (as_of.clone(), *bin)))
        .collect();
    Sheet::new(
        "reliability",
        reliability_columns(),
        rows.len(),
        move |row| rows[row].clone(),
    )
}

fn reliability_columns() -> Vec<Column<(String, Bin)>> {
    vec![
        column("as_of", Holds::Text, AS_OF, |(as_of, _)| {
            Value::text(as_of.as_str())
        }),
        column(
            "chance_above",
            Holds::Number,
            "chances above this",
            |(_, bin)| figure(bin.above),
        ),
        column(
            "chance_up_to",
            Holds::Number,
            "and up to this",
            |(_, bin)| figure(bin.up_to),
        ),
        measured(
            "inspections",
            "inspections",
            Holds::Whole,
            "looks that were given such a chance",
            |(_, bin)| Value::whole(bin.count),
        ),
        column(
            "mean_chance",
            Holds::Number,
            "mean of their chances of being found below the limit",
            |(_, bin)| figure(bin.forecast),
        ),
        measured(
            "inspections",
            "found_below_limit",
            Holds::Whole,
            "how many were",
            |(_, bin)| Value::whole(bin.happened),
        ),
        column(
            "share_found",
            Holds::Number,
            "share that was",
            |(_, bin)| figure(bin.share()),
        ),
        column(
            "share_found_low",
            Holds::Number,
            "lower end of its exact 95 % interval",
            |(_, bin)| figure(bin.interval.low),
        ),
        column(
            "share_found_high",
            Holds::Number,
            "upper end",
            |(_, bin)| figure(bin.interval.high),
        ),
        column(
            "mean_in_interval",
            Holds::Text,
            "whether the mean chance lies in that interval: yes or no",
            |(_, bin)| Value::text(if bin.holds() { "yes" } else { "no" }),
        ),
    ]
}

fn coverage(back: &Hindcast) -> Sheet<'_> {
    let rows: Vec<(String, Coverage)> = scored(back)
        .into_iter()
        .flat_map(|(as_of, scores)| scores.coverage.iter().map(move |own| (as_of.clone(), *own)))
        .collect();
    Sheet::new("coverage", coverage_columns(), rows.len(), move |row| {
        rows[row].clone()
    })
}

fn coverage_columns() -> Vec<Column<(String, Coverage)>> {
    vec![
        column("as_of", Holds::Text, AS_OF, |(as_of, _)| {
            Value::text(as_of.as_str())
        }),
        column(
            "grouped_by",
            Holds::Text,
            "all poles of a year, those of one line, or those of one size",
            |(_, own)| Value::text(own.grouped_by.word()),
        ),
        column(
            "band",
            Holds::Number,
            "level of the bands on the number found below the limit",
            |(_, own)| figure(own.level),
        ),
        measured("groups", "groups", Holds::Whole, "groups", |(_, own)| {
            Value::whole(own.groups)
        }),
        measured(
            "groups",
            "held",
            Holds::Whole,
            "groups whose number lay in its band",
            |(_, own)| Value::whole(own.held),
        ),
        column(
            "share_expected",
            Holds::Number,
            "share of the groups that should: numbers are whole, so bands hold at least their level",
            |(_, own)| figure(own.expected),
        ),
        column("share_held", Holds::Number, "share that did", |(_, own)| {
            figure(own.held as f64 / own.groups as f64)
        }),
        column(
            "share_held_low",
            Holds::Number,
            "lower end of its exact 95 % interval, as if groups were independent",
            |(_, own)| figure(own.interval.low),
        ),
        column("share_held_high", Holds::Number, "upper end", |(_, own)| {
            figure(own.interval.high)
        }),
        measured(
            "poles",
            "mean_width",
            Holds::Number,
            "mean of upper less lower end of the bands",
            |(_, own)| figure(own.width),
        ),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::score::forecast::Holds as ListHolds;
    use crate::score::hindcast::{Question, hindcast as look_back};
    use crate::tables::tests::{assert_typed, cell};
    use crate::words::sample;

    #[test]
    fn forecasts_stand_beside_what_was_found() {
        let sample = sample::fleet();
        let question = Question {
            as_of: vec![2024, 2025],
            window_years: None,
            holds: ListHolds::Survivors,
        };
        let back = look_back(
            &sample.inventory,
            &sample.models,
            &sample.programme,
            &question,
        );
        let sheets = hindcast(&back);
        for sheet in &sheets {
            assert_typed(sheet);
        }
        let [forecasts, scores, reliability, coverage] = &sheets;
        assert_eq!(forecasts.len, 3);
        assert_eq!(cell(forecasts, 0, "pole_id"), "A-2");
        assert_eq!(cell(forecasts, 0, "found_below_limit"), "1");
        assert_eq!(cell(forecasts, 1, "found_below_limit"), "0");
        assert!(!cell(forecasts, 2, "caution").is_empty());
        // Two years and both together, five forecasters each; three groupings and three levels.
        assert_eq!((scores.len, coverage.len), (15, 27));
        assert_eq!(cell(scores, 10, "as_of"), "all");
        assert_eq!(cell(scores, 10, "forecast_better_by"), "");
        assert!(reliability.len > 0);
    }
}
