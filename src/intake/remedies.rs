//! Remedial treatments in inspection records: whether one was given, with what and where.
//!
//! A treatment of which the agent is unknown stays a treatment and is credited with nothing; what contradicts itself is
//! not guessed at. How long an agent lasts is in `models/`, not here.

use super::poles::read_flag;
use super::table::Row;
use super::words::{Coded, Unmapped, read_code};
use crate::pole::{Agent, AgentPlace, Vocabulary};
use crate::problem::{Code, Problem};
use crate::programme::sources::Field;
use crate::wood::agents::reached;

/// What a record says of a remedial treatment.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Remedy {
    pub given: bool,
    pub agent: Option<Agent>,
    pub place: Option<AgentPlace>,
}

/// Reads the treatment of one record. An agent without a yes or no was given; one beside a no was not.
pub(super) fn read_remedy(
    row: Row<'_>,
    id: &str,
    unmapped: &mut Unmapped,
    problems: &mut Vec<Problem>,
) -> Remedy {
    let (agent, place) = read_agent(row, unmapped);
    let flag = read_flag(row, Field::Treated, id, problems);
    if flag == Some(false) {
        if agent.is_some() {
            let what = format!(
                "the agent is {}, but no treatment was given",
                row.raw(Field::Agent).trim()
            );
            problems.push(row.problem(
                Code::AgentWithoutTreatment,
                Field::Agent,
                id,
                what,
                "taken as not treated",
            ));
        }
        return Remedy {
            given: false,
            agent: None,
            place: None,
        };
    }
    let given = flag.unwrap_or(agent.is_some());
    let field = if row.bound.has(Field::Agent) {
        Field::Agent
    } else {
        Field::Treated
    };
    judged(row, id, field, given, (agent, place), problems)
}

/// Reads the treatment that a record of work is about.
pub(super) fn read_work_remedy(
    row: Row<'_>,
    id: &str,
    unmapped: &mut Unmapped,
    problems: &mut Vec<Problem>,
) -> Remedy {
    let with = read_agent(row, unmapped);
    judged(row, id, Field::Work, true, with, problems)
}

/// Agent and place, as far as they are words of ours.
fn read_agent(row: Row<'_>, unmapped: &mut Unmapped) -> (Option<Agent>, Option<AgentPlace>) {
    let codes = &row.bound.source.codes;
    let agent = read_code(row, Field::Agent, &codes.agent);
    let place = read_code(row, Field::AgentPlace, &codes.agent_place);
    if agent == Coded::Unmapped {
        unmapped.count(row, Field::Agent);
    }
    if place == Coded::Unmapped {
        unmapped.count(row, Field::AgentPlace);
    }
    (agent.known(), place.known())
}

/// The treatment, with problems where the agent is not known (told at `field`) or does nothing where it was put.
fn judged(
    row: Row<'_>,
    id: &str,
    field: Field,
    given: bool,
    (agent, place): (Option<Agent>, Option<AgentPlace>),
    problems: &mut Vec<Problem>,
) -> Remedy {
    if given && agent.is_none() {
        problems.push(row.problem(
            Code::UnknownAgent,
            field,
            id,
            "treated, but with what is not known".to_owned(),
            "the treatment is credited with nothing",
        ));
    }
    if let Some(agent) = agent.filter(|agent| reached(*agent, place).is_none()) {
        let what = format!(
            "{} in the place {}",
            agent.word(),
            row.raw(Field::AgentPlace).trim()
        );
        problems.push(row.problem(
            Code::AgentOutOfPlace,
            Field::AgentPlace,
            id,
            what,
            "the treatment is credited with nothing",
        ));
    }
    Remedy {
        given,
        agent: agent.filter(|_| given),
        place: place.filter(|_| given),
    }
}
