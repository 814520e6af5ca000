//! Failure in wind by what a pole has to bear: its own use of capacity where loading and size are known (model section 5).
//!
//! The use of capacity is the design wind moment over the mean capacity when new. Lists give what a pole must bear when
//! new, which holds the owner's load factor: divided by it, that is the design wind's. Without the factor nothing is
//! supposed, and every pole has the programme's use of capacity. Tables are made for classes of use, not for poles.

use super::missing::{DiameterOrigin, Missing};
use crate::inventory::Inventory;
use crate::maths::{exp, ln};
use crate::pole::{Loading, PoleIndex};
use crate::programme::Programme;
use crate::wood::FailureHazard;
use std::collections::BTreeMap;

/// Width of a class in the logarithm of the use of capacity: a pole's own is at most 0.5 % from its class's, which moves
/// the yearly rate of a sound pole by a twentieth at 0.35 and by less where more is used. The diameter behind a use of
/// capacity is known to 5 %, which moves it by 15 %.
const CLASS: f64 = 0.01;
/// Uses of capacity for which tables are made; what lies beyond is taken as the end.
const USES: [f64; 2] = [0.02, 1.5];

/// Tables of failure in wind for poles that have a use of capacity of their own.
#[derive(Debug, Clone, Default)]
pub(super) struct Loaded {
    by_class: BTreeMap<i32, FailureHazard>,
    class_of: BTreeMap<PoleIndex, i32>,
}

impl Loaded {
    pub(super) fn new(inventory: &Inventory, programme: &Programme, missing: &Missing) -> Self {
        let mut loaded = Self::default();
        let hazards = &programme.hazards;
        let Some(factor) = hazards.load_factor else {
            return loaded;
        };
        for pole in inventory.indices() {
            let Some(required) = required_share(inventory, missing, pole) else {
                continue;
            };
            let [least, most] = USES;
            let class = (ln((required / factor).clamp(least, most)) / CLASS).round() as i32;
            loaded.class_of.insert(pole, class);
            loaded.by_class.entry(class).or_insert_with(|| {
                FailureHazard::new(exp(f64::from(class) * CLASS), hazards.strength_cov)
            });
        }
        loaded
    }

    /// The tables of a pole that has a use of capacity of its own.
    pub(super) fn of(&self, pole: PoleIndex) -> Option<&FailureHazard> {
        self.by_class.get(self.class_of.get(&pole)?)
    }
}

/// What the pole must bear when new as a share of its mean capacity; `None` where it is not known, or is a moment and the
/// size is only supposed.
fn required_share(inventory: &Inventory, missing: &Missing, pole: PoleIndex) -> Option<f64> {
    let facts = inventory.pole(pole);
    let (likely, origin) = missing.diameter(facts, inventory.inspections_of(pole));
    let is_moment = matches!(facts.loading, Some(Loading::Moment(_)));
    if is_moment && origin == DiameterOrigin::Assumed {
        return None;
    }
    Some(missing.required(facts)?.share(likely.median))
}

#[cfg(test)]
mod tests {
    use super::Loaded;
    use crate::belief::missing::Missing;
    use crate::common::{inventory_of, pole_set, programme};
    use crate::models::text::built_in;
    use crate::pole::{Loading, Pole, PoleIndex, Species};
    use crate::units::{Mm, NewtonMetre};

    /// Half a class, and the digits of the numbers by hand.
    const WITHIN: f64 = 0.006;

    fn uses(poles: Vec<Pole>, load_factor: Option<f64>) -> Vec<Option<f64>> {
        let mut programme = programme();
        programme.hazards.load_factor = load_factor;
        let count = poles.len() as u32;
        let listed = poles.into_iter().zip(["A", "B", "C", "D"]);
        let listed = listed.map(|(pole, id)| (id, "L", pole, Vec::new()));
        let inventory = inventory_of(listed.collect());
        let models = built_in().expect("valid models");
        let missing = Missing::new(&inventory, &programme, &models.sizes);
        let loaded = Loaded::new(&inventory, &programme, &missing);
        let own = |pole| loaded.of(PoleIndex(pole)).map(|own| own.use_of_capacity);
        (0..count).map(own).collect()
    }

    #[test]
    fn a_pole_has_the_use_of_capacity_that_its_loading_tells() {
        let bare = pole_set(1990);
        let shared = Pole {
            loading: Some(Loading::UseOfCapacity(0.8)),
            ..bare
        };
        // Mean capacity of 300 mm at 8000 psi (55.158 MPa): pi / 32 x 0.3^3 x 55.158e6 = 146,210 N m; half of it.
        let measured = Pole {
            loading: Some(Loading::Moment(NewtonMetre(73_105.0))),
            species: Some(Species::Pine),
            diameter: Some(Mm(300.0)),
            ..bare
        };
        let supposed = Pole {
            diameter: None,
            ..measured
        };
        let poles = vec![shared, measured, supposed, bare];
        let own = uses(poles.clone(), Some(2.0));
        let near = |own: Option<f64>, use_of_capacity: f64| {
            own.is_some_and(|own| (own / use_of_capacity - 1.0).abs() < WITHIN)
        };
        assert!(near(own[0], 0.40) && near(own[1], 0.25), "{own:?}");
        assert_eq!(
            own[2..],
            [None, None],
            "a moment on a supposed size says nothing"
        );
        assert_eq!(
            uses(poles, None),
            [None; 4],
            "nothing is supposed without the factor"
        );
    }

    #[test]
    fn a_class_is_within_a_twentieth_of_its_poles() {
        use crate::wood::FailureHazard;
        for use_of_capacity in [0.35_f64, 0.5, 0.8] {
            let rate = |use_of_capacity| FailureHazard::new(use_of_capacity, 0.2).mean_yearly(1.0);
            let off = rate(use_of_capacity * 1.005) / rate(use_of_capacity) - 1.0;
            assert!(off < 0.05, "{use_of_capacity}: {off}");
        }
    }
}
