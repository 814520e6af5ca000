//! What each trip takes and gives in each plan year: the table that prices and exchanges of years are worked out from.
//!
//! Plain numbers. Must not know poles, rules or dates: [`trips`](super::trips) fills the table in. The last place of a
//! row is to go in none of the years.

/// Rounding of a year's sum of crew-days; far below one pole's part of a day.
pub(super) const ROUNDING: f64 = 1e-9;

/// One trip in one year, or in none.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Offer {
    /// Crew-days; infinite where the trip may not go in that year.
    pub(super) days: f64,
    /// What the visits are worth, in units of cost.
    pub(super) worth: f64,
    /// Pole-years past the day that a law wants.
    pub(super) law: u32,
    /// Pole-years past the due year of any rule.
    pub(super) rule: u32,
}

impl Offer {
    /// Whether the trip may go so.
    pub(super) const fn is_open(&self) -> bool {
        self.days.is_finite()
    }
}

/// A row for every trip, a place for every year and one more for none.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Offers {
    years: usize,
    rows: Vec<Offer>,
}

impl Offers {
    /// The table of the rows, each as long as there are years and one more.
    pub(super) fn new(years: usize, rows: Vec<Offer>) -> Self {
        debug_assert!(rows.len().is_multiple_of(years + 1));
        Self { years, rows }
    }

    /// Plan years.
    pub(super) const fn years(&self) -> usize {
        self.years
    }

    /// Trips.
    pub(super) const fn len(&self) -> usize {
        self.rows.len() / (self.years + 1)
    }

    /// What one trip takes and gives, year by year and in none.
    pub(super) fn of(&self, trip: usize) -> &[Offer] {
        let width = self.years + 1;
        &self.rows[trip * width..(trip + 1) * width]
    }
}

/// What a plan may use: the crew-days of each year and, all together, pole-years late.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Room {
    /// Crew-days of each year.
    pub(super) days: Vec<f64>,
    /// Pole-years past the day that a law wants.
    pub(super) law: u64,
    /// Pole-years past the due year of any rule.
    pub(super) rule: u64,
}

/// What a choice of places, one a trip, comes to.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Total {
    /// Crew-days of each year.
    pub(super) days: Vec<f64>,
    /// What all visits are worth.
    pub(super) worth: f64,
    /// Pole-years past the day that a law wants.
    pub(super) law: u64,
    /// Pole-years past the due year of any rule.
    pub(super) rule: u64,
}

/// What places, one a trip, come to.
pub(super) fn total(offers: &Offers, places: &[u16]) -> Total {
    let mut total = Total {
        days: vec![0.0; offers.years()],
        worth: 0.0,
        law: 0,
        rule: 0,
    };
    for (trip, place) in places.iter().enumerate() {
        let offer = &offers.of(trip)[usize::from(*place)];
        if let Some(days) = total.days.get_mut(usize::from(*place)) {
            *days += offer.days;
        }
        total.worth += offer.worth;
        total.law += u64::from(offer.law);
        total.rule += u64::from(offer.rule);
    }
    total
}
