//! What is written about buying: lead times, sizes that go in, stock, other demand, the yard; each default with its mark.
//!
//! A substitution by a smaller class needs somebody who answers for it: a class is a load.

use super::Completing;
use super::figures::{Default, default};
use super::twins::{
    Written, WrittenGivenDemand, WrittenPutBack, WrittenStock, WrittenSubstitution, WrittenSupply,
    WrittenYard,
};
use crate::Error;
use crate::pole::PoleClass;
use crate::programme::supply::{
    GivenDemand, HIGHEST_STACK, PutBack, SizeName, Stock, Substitution, Supply, Yard,
};
use crate::units::{LengthUnit, Mm};
use std::ops::RangeInclusive;

/// Most poles that one line of a stock or a demand may stand for.
const MOST_POLES: i64 = 10_000_000;

/// How a size is written.
const AS_A_SIZE: &str = "a size is written as quantities.csv writes it: \"12 m class 4\", \"40 ft class 4\", \"12 m\" or \"class 4\"";

const PRACTICE: &str = "common practice";
const PROPOSED: &str = "proposed";

impl Completing<'_> {
    pub(super) fn supply(&mut self, written: &Written, first_year: i16) -> Result<Supply, Error> {
        let terms = self.terms(&written.supply)?;
        Ok(Supply {
            substitutions: numbered(&written.substitution, |place, own| {
                self.substitution(place, own)
            })?,
            stock: numbered(&written.stock, |place, own| self.stock(place, own))?,
            other_demand: numbered(&written.other_demand, |place, own| {
                self.given_demand(place, own, first_year)
            })?,
            put_back: numbered(&written.put_back, |place, own| self.put_back(place, own))?,
            yard: self.yard(written.yard.as_ref())?,
            ..terms
        })
    }

    /// What `[supply]` says.
    fn terms(&mut self, written: &WrittenSupply) -> Result<Supply, Error> {
        let usual = Supply::default();
        let mut figure = |given: Option<f64>, of: Default<f64>, range: RangeInclusive<f64>| {
            self.figure(given, &of, range)
        };
        let chance = default(
            "supply.chance_of_not_running_short",
            usual.chance_of_not_running_short,
            PROPOSED,
        );
        let chance = figure(written.chance_of_not_running_short, chance, 0.5..=0.999)?;
        let months = default(
            "supply.review_months",
            usual.review_months,
            "proposed: one order a year",
        );
        let review_months = figure(written.review_months, months, 1.0..=60.0)?;
        let air = default(
            "supply.air_drying_weeks",
            usual.air_drying_weeks,
            "common practice: 6 to 8 weeks in air stacks",
        );
        let kiln = default(
            "supply.kiln_drying_weeks",
            usual.kiln_drying_weeks,
            "common practice: days to weeks in a kiln",
        );
        let treating = default("supply.treating_weeks", usual.treating_weeks, PROPOSED);
        let transport = default("supply.transport_weeks", usual.transport_weeks, PROPOSED);
        let long = default(
            "supply.long_poles_from_m",
            LengthUnit::Metre.write(usual.long_from),
            "proposed: common practice dries long poles in a kiln and names no length",
        );
        let truck = default(
            "supply.truck_load",
            usual.truck_load,
            "derived: 40 poles of 12 m and a middle class, 30 to 50",
        );
        let terms = Supply {
            chance_of_not_running_short: chance,
            review_months,
            air_drying_weeks: figure(written.air_drying_weeks, air, 0.0..=104.0)?,
            kiln_drying_weeks: figure(written.kiln_drying_weeks, kiln, 0.0..=104.0)?,
            treating_weeks: figure(written.treating_weeks, treating, 0.0..=104.0)?,
            transport_weeks: figure(written.transport_weeks, transport, 0.0..=104.0)?,
            long_from: LengthUnit::Metre.read(figure(written.long_poles_from_m, long, 0.0..=60.0)?),
            truck_load: figure(written.truck_load, truck, 1.0..=10_000.0)?,
            ..usual
        };
        let within = |key: &str, given: Option<f64>, range| {
            given
                .map(|value| self.number(key, value, range))
                .transpose()
        };
        Ok(Supply {
            density: within(
                "supply.density_kg_per_m3",
                written.density_kg_per_m3,
                200.0..=1_500.0,
            )?,
            storm_reserve: within("supply.storm_reserve", written.storm_reserve, 0.0..=0.5)?,
            lot_size: written
                .lot_size
                .map(|size| self.whole("supply.lot_size", Some(size), size, 1..=100_000))
                .transpose()?
                .map(|size| size as u32),
            use_class: written.use_class.clone(),
            ..terms
        })
    }

    /// A size; a fault where it is missing or none.
    fn size(&self, key: &str, written: Option<&str>) -> Result<SizeName, Error> {
        let Some(text) = written else {
            return Err(self.place.fault(key, "the size is missing", AS_A_SIZE));
        };
        SizeName::parse(text).ok_or_else(|| {
            self.place
                .fault(key, &format!("\"{text}\" is no size"), AS_A_SIZE)
        })
    }

    fn substitution(
        &self,
        place: usize,
        written: &WrittenSubstitution,
    ) -> Result<Substitution, Error> {
        let key = |name: &str| format!("substitution.{place}.{name}");
        let from = self.size(&key("from"), written.from.as_deref())?;
        let to = self.size(&key("to"), written.to.as_deref())?;
        if written.decided_by.is_none() && may_be_smaller(&from, &to) {
            return Err(self.place.fault(
                &key("to"),
                "a smaller class, or one that nothing shows to be as large",
                "a class is a load: name the class in `from` and put in the same or a larger one, or write who answers for it: decided_by = \"name\"",
            ));
        }
        Ok(Substitution {
            from,
            to,
            decided_by: written.decided_by.clone(),
        })
    }

    fn poles(&self, key: &str, given: Option<i64>) -> Result<u32, Error> {
        Ok(self.whole(key, given, 0, 0..=MOST_POLES)? as u32)
    }

    fn stock(&self, place: usize, written: &WrittenStock) -> Result<Stock, Error> {
        let key = |name: &str| format!("stock.{place}.{name}");
        Ok(Stock {
            size: self.size(&key("size"), written.size.as_deref())?,
            species: self.word(&key("species"), written.species.as_deref())?,
            preservative: self.word(&key("preservative"), written.preservative.as_deref())?,
            on_hand: self.poles(&key("on_hand"), written.on_hand)?,
            on_order: self.poles(&key("on_order"), written.on_order)?,
            arrives: self.date(&key("arrives"), written.arrives.as_ref())?,
        })
    }

    fn given_demand(
        &self,
        place: usize,
        written: &WrittenGivenDemand,
        first_year: i16,
    ) -> Result<GivenDemand, Error> {
        let key = |name: &str| format!("other_demand.{place}.{name}");
        let needed = |name: &str| {
            self.place.fault(
                &format!("other_demand.{place}"),
                &format!("{name} is missing"),
                "other demand is written with year, size, count and what_for",
            )
        };
        let year = written.year.ok_or_else(|| needed("year"))?;
        let count = written.count.ok_or_else(|| needed("count"))?;
        Ok(GivenDemand {
            year: self.whole(&key("year"), Some(year), year, i64::from(first_year)..=2400)? as i16,
            size: self.size(&key("size"), written.size.as_deref())?,
            species: self.word(&key("species"), written.species.as_deref())?,
            preservative: self.word(&key("preservative"), written.preservative.as_deref())?,
            count: self.poles(&key("count"), Some(count))?,
            what_for: written.what_for.clone().ok_or_else(|| needed("what_for"))?,
        })
    }

    fn put_back(&self, place: usize, written: &WrittenPutBack) -> Result<PutBack, Error> {
        let key = |name: &str| format!("put_back.{place}.{name}");
        let needed = |name: &str| {
            self.place.fault(
                &format!("put_back.{place}"),
                &format!("{name} is missing"),
                "what may be put back is written with species and preservative",
            )
        };
        let species = self.word(&key("species"), written.species.as_deref())?;
        let preservative = self.word(&key("preservative"), written.preservative.as_deref())?;
        Ok(PutBack {
            species: species.ok_or_else(|| needed("species"))?,
            preservative: preservative.ok_or_else(|| needed("preservative"))?,
            replacement: written
                .replacement
                .map(|price| self.number(&key("replacement"), price, 0.01..=1e12))
                .transpose()?,
            allowed_by: written.allowed_by.clone(),
        })
    }

    fn yard(&mut self, written: Option<&WrittenYard>) -> Result<Option<Yard>, Error> {
        let Some(written) = written else {
            return Ok(None);
        };
        let Some(width) = written.stack_width_m else {
            return Err(self.place.fault(
                "yard",
                "stack_width_m is missing",
                "how wide a stack is, in metres: stack_width_m = 4",
            ));
        };
        let highest = LengthUnit::Metre.write(HIGHEST_STACK);
        let height = default("yard.stack_height_m", highest, PRACTICE);
        let metres = |value| LengthUnit::Metre.read(value);
        let stack_width: Mm = metres(self.number("yard.stack_width_m", width, 0.5..=50.0)?);
        let stack_height = self.figure(written.stack_height_m, &height, 0.5..=highest)?;
        Ok(Some(Yard {
            stack_width,
            stack_height: metres(stack_height),
        }))
    }
}

/// Each table of a list with its number.
fn numbered<T, R>(
    list: &[T],
    read: impl Fn(usize, &T) -> Result<R, Error>,
) -> Result<Vec<R>, Error> {
    list.iter()
        .enumerate()
        .map(|(place, own)| read(place, own))
        .collect()
}

/// Whether a smaller class may go in than came out. Names that are no classes of the American tables cannot be compared,
/// and are the owner's own.
fn may_be_smaller(from: &SizeName, to: &SizeName) -> bool {
    let class = |size: &SizeName| size.class.as_deref().and_then(PoleClass::from_word);
    match (class(from), class(to)) {
        (Some(from), Some(to)) => to > from,
        (None, Some(_)) => from.class.is_none(),
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use crate::programme::text::read;
    use crate::programme::{Programme, Supply};
    use std::path::Path;

    fn plan(text: &str) -> Result<Programme, String> {
        let text = format!("plan_from = 2026-01-01\n{text}");
        read(&text, Path::new("programme.toml")).map_err(|error| error.to_string())
    }

    fn fault(text: &str) -> String {
        plan(text).expect_err("a fault")
    }

    #[test]
    fn what_is_not_written_is_the_default_and_said_to_be_assumed() {
        let programme = plan("").expect("a programme");
        assert_eq!(programme.supply, Supply::default());
        let keys: Vec<&str> = programme.assumed.iter().map(|own| own.key).collect();
        assert_eq!(
            keys.iter().filter(|key| key.starts_with("supply.")).count(),
            8
        );
        let set = plan("[supply]\ntreating_weeks = 3").expect("a programme");
        assert!(
            !set.assumed
                .iter()
                .any(|own| own.key == "supply.treating_weeks")
        );
    }

    #[test]
    fn what_is_written_is_taken() {
        let text = r#"
[supply]
lot_size = 20
storm_reserve = 0.01
density_kg_per_m3 = 700
[[substitution]]
from = "12 m class 5"
to = "12 m class 4"
[[stock]]
size = "12 m class 4"
preservative = "creosote"
on_hand = 12
on_order = 30
arrives = 2026-03-01
[[other_demand]]
year = 2027
size = "14 m class 3"
count = 25
what_for = "road widening"
[[put_back]]
species = "pine"
preservative = "cca"
replacement = 7000
[yard]
stack_width_m = 4
"#;
        let supply = plan(text).expect("a programme").supply;
        assert_eq!((supply.lot_size, supply.stock[0].on_order), (Some(20), 30));
        assert_eq!(supply.other_demand[0].count, 25);
        assert!(
            supply
                .yard
                .is_some_and(|yard| (yard.stack_height.0 - 3_000.0).abs() < 1e-9)
        );
    }

    #[test]
    fn a_smaller_class_needs_somebody_who_answers_for_it() {
        let of = |from: &str, to: &str, more: &str| {
            plan(&format!(
                "[[substitution]]\nfrom = \"{from}\"\nto = \"{to}\"\n{more}"
            ))
        };
        assert!(of("12 m class 4", "12 m class 4", "").is_ok());
        assert!(of("12 m class 4", "12 m class H1", "").is_ok());
        assert!(of("12 m class S", "12 m class M", "").is_ok());
        let smaller = of("12 m class 4", "12 m class 5", "").expect_err("a fault");
        assert!(
            smaller.contains("substitution 1, to: a smaller class"),
            "{smaller}"
        );
        assert!(of("12 m", "12 m class 4", "").is_err());
        assert!(
            of(
                "12 m class 4",
                "12 m class 5",
                "decided_by = \"A. Engineer\""
            )
            .is_ok()
        );
    }

    #[test]
    fn faults_name_their_place() {
        assert!(
            fault("[[stock]]\nsize = \"twelve\"").contains("stock 1, size: \"twelve\" is no size")
        );
        assert!(fault("[[stock]]\non_hand = 2").contains("the size is missing"));
        assert!(fault("[[other_demand]]\nyear = 2027").contains("count is missing"));
        assert!(
            fault("[yard]\nstack_width_m = 4\nstack_height_m = 4")
                .contains("a number from 0.5 to 3")
        );
        assert!(fault("[supply]\nlot = 4").contains("unknown key \"lot\""));
    }
}
