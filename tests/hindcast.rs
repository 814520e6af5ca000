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
    let back = look(6000, 1, vec![2016, 2021, 2022, 2023, 2024, 2025]);
    for year in &back.years {
        println!("{} {:?} {:?}", year.year, year.counts, year.age_curve);
        if let Some(s) = &year.scores {
            println!("  exp {:.1} found {} log {:?}", s.expected, s.found, s.log);
        }
    }
    println!("{:?}", back.hindsight_curve);
    println!("{:#?}", back.scores);
}
