//! How a plan was made and what it leaves out, in plain words for whoever opens its page.
//!
//! Sentences only: the README says the same at more length, the model's files hold the figures.

/// What the estimate is about, in one sentence: it must stand wherever a plan is shown at a glance.
pub const GROUNDLINE_ONLY: &str = "Only the groundline is modelled: a pole that looks good here may be rotten, split or holed above, and tops, crossarms, insects, fire and impact are not in it.";

/// How the plan was made, step by step.
pub const STEPS: [(&str, &str); 5] = [
    (
        "The wood",
        "At the groundline a pole decays after a time in which its preservative holds. How long it lasts follows a service-life curve for its species, preservative and decay zone; each curve carries its source or the mark \"proposed\".",
    ),
    (
        "The inspections",
        "Each inspection counts by what its method can see: a hammer proves nothing, a boring misses half of what has just reached the limit, some decay stays hidden from all but full excavation. All inspections together make the curves longer or shorter. The list holds only poles that still stand, and the estimate reckons with those that have left it.",
    ),
    (
        "The schedule",
        "What rules call for comes first, whole stretches of line at a time, within the crew-days and the operating money. Where guidelines call for more than fits, the visits that are worth most go first; what finds no room is deferred and said so. Then trips change years until no exchange makes their visits worth more without making the plan later, a bound says how near that is to the best, and a small stated share of it is given up for reaching the worst poles first. A separate audit re-derives every promise before anything is written.",
    ),
    (
        "The forecast",
        "Every trial lives through the schedule pole by pole and counts what has to be replaced. A band is where 8 in 10 trials lie; the figure after the sign +- is what another seed would change.",
    ),
    (
        "What it is not",
        "Who goes together is decided before the years are, crews' travel is not counted, and of money only inspections are planned to a limit. It sets priorities and clears nothing.",
    ),
];

/// What "value of a visit" means.
pub const VALUE_OF_VISIT: &str = "What a visit in that year is expected to save over waiting for the rule's own date, in the cost units of the programme: it orders poles and is no budget, and where a rule or a verdict calls for the pole, that decides. The command explain shows it year by year.";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plan_says_that_it_clears_nothing_and_knows_only_the_groundline() {
        assert!(GROUNDLINE_ONLY.contains("groundline"));
        assert!(
            STEPS
                .iter()
                .any(|(_, text)| text.contains("clears nothing"))
        );
    }
}
