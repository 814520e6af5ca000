//! `agents.toml`: how long remedial agents act and how much they slow decay.
//!
//! Shapes and checks of the one file; which decay an agent reaches is in [`wood::agents`](crate::wood::agents).

use serde::Deserialize;
use toml::Spanned;

use super::Origin;
use super::check::{Check, Expect};
use super::file::File;
use crate::Error;
use crate::pole::Agent;
use crate::wood::Agents;
use crate::wood::agents::{AgentYears, ClockFactor};

/// Figures of remedial agents with what stands behind them.
#[derive(Debug, Clone, PartialEq)]
pub struct AgentFigures {
    /// What the model uses.
    pub agents: Agents,
    /// Source or mark of the clock factor.
    pub factor_origin: Origin,
    /// Range of each agent's years, by [`Agent::index`].
    pub range_years: [[f64; 2]; Agent::ALL.len()],
    /// Source or mark of each agent's years, by [`Agent::index`].
    pub origins: [Origin; Agent::ALL.len()],
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct AgentsText {
    #[serde(rename = "title")]
    _title: String,
    clock_factor: Spanned<FactorText>,
    agent: Vec<Spanned<AgentText>>,
    check: Vec<FactorCheckText>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct FactorText {
    low: f64,
    usual: f64,
    high: f64,
    mark: Spanned<String>,
    text: Spanned<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct AgentText {
    name: Spanned<String>,
    from_years: f64,
    until_years: f64,
    range_years: [f64; 2],
    mark: Spanned<String>,
    text: Spanned<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct FactorCheckText {
    usual_factor_between: [f64; 2],
    why: String,
}

/// The agents, each exactly once, and what the file must give back.
pub(super) fn read_agents(file: File) -> Result<(AgentFigures, Vec<Check>), Error> {
    let text: AgentsText = file.parse()?;
    if text.check.is_empty() {
        return Err(file.whole("a model needs at least one [[check]]"));
    }
    let factor = text.clock_factor.get_ref();
    let within = |key, value, range| file.within(text.clock_factor.span(), key, value, range);
    let usual = within("usual", factor.usual, [0.05, 1.0])?;
    let clock = ClockFactor {
        low: within("low", factor.low, [0.05, usual])?,
        usual,
        high: within("high", factor.high, [usual, 1.0])?,
    };
    let factor_origin = file.origin(&factor.mark, &factor.text)?;
    let mut rows = Vec::new();
    for agent in Agent::ALL {
        let mut own = Vec::new();
        for row in &text.agent {
            if file.word::<Agent>(&row.get_ref().name, "agent")? == agent {
                own.push(row);
            }
        }
        let [row] = own[..] else {
            let what = format!("{agent:?} needs one [[agent]], no more and no less");
            return Err(file.whole(&what));
        };
        rows.push(read_agent(file, row)?);
    }
    let checks = text.check.into_iter().map(|check| Check {
        expect: Expect::ClockFactorBetween(check.usual_factor_between),
        why: check.why,
    });
    let rows: [(AgentYears, [f64; 2], Origin); Agent::ALL.len()] = rows
        .try_into()
        .map_err(|_| file.whole("an agent is missing"))?;
    let figures = AgentFigures {
        agents: Agents {
            years: rows.each_ref().map(|(years, _, _)| *years),
            factor: clock,
        },
        factor_origin,
        range_years: rows.each_ref().map(|(_, range, _)| *range),
        origins: rows.map(|(_, _, origin)| origin),
    };
    Ok((figures, checks.collect()))
}

fn read_agent(
    file: File,
    row: &Spanned<AgentText>,
) -> Result<(AgentYears, [f64; 2], Origin), Error> {
    let text = row.get_ref();
    let within = |key, value, range| file.within(row.span(), key, value, range);
    let [low, high] = text.range_years;
    let until = within("until_years", text.until_years, [low, high])?;
    let years = AgentYears {
        from: within("from_years", text.from_years, [0.0, until])?,
        until: within("until_years", until, [0.5, 50.0])?,
    };
    Ok((years, [low, high], file.origin(&text.mark, &text.text)?))
}
