//! Looking back on invented networks: the forecast beats what age alone says, and its chances are what they say.

mod common;

use polewright::invent::{Recipe, invent};
use polewright::score::forecast::Holds;
use polewright::score::hindcast::{Hindcast, Question, hindcast};

fn look(poles: usize, seed: u64, as_of: Vec<i16>) -> Hindcast {
    let models = polewright::models::text::built_in().expect("valid models");
    let recipe = Recipe::demo(poles, seed, false);
    let made = invent(&recipe, &models);
    let mut programme = common::programme();
    programme.plan_from = recipe.today;
    programme.trials = 256;
    programme.rejects.clone_from(&recipe.rejects);
    programme.removals.mean_years_to_removal = recipe.mean_years_to_removal;
    let question = Question {
        as_of,
        window_years: None,
        holds: Holds::Survivors,
    };
    hindcast(&made.inventory, &models, &programme, &question)
}

#[test]
fn trial_run() {
    for seed in 2..10 {
        let back = look(3000, seed, vec![2023, 2024, 2025]);
        let s = back.scores.expect("scores");
        println!(
            "{seed} exp {:.1} found {} log gain {:?} hind {:?} catch {:?} {:?}",
            s.expected,
            s.found,
            s.against[0].log_gain,
            s.against[2].log_gain,
            s.catches[1].caught,
            s.against
                .iter()
                .map(|a| a.catches[1].caught)
                .collect::<Vec<_>>()
        );
    }
}
