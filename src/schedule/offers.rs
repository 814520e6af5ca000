//! What each trip takes and gives in each plan year: the table that prices and exchanges of years are worked out from.
//!
//! Plain numbers. Must not know poles, rules or dates: [`trips`](super::trips) fills the table in. The last place of a
//! row is to go in none of the years.

/// Rounding of a year's sum of crew-days; far below one pole's part of a day.
pub(super) const ROUNDING: f64 = 1e-9;

/// Money of a year without a limit: far more than any plan costs, and a number that sums can be taken of.
pub(super) const NO_LIMIT: f64 = 1e18;

/// Whether what is left covers a sum, but for rounding of the sums that it is left of.
pub(super) fn covers(left: f64, sum: f64) -> bool {
    sum <= 0.0 || sum <= left + ROUNDING * sum.max(1.0)
}

/// One trip in one year, or in none.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Offer {
    /// Crew-days; infinite where the trip may not go in that year.
    pub(super) days: f64,
    /// Money of the operating account, in units of cost.
    pub(super) money: f64,
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

/// What a plan may use: the crew-days and the money of each year and, all together, pole-years late.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Room {
    /// Crew-days of each year.
    pub(super) days: Vec<f64>,
    /// Money of each year; [`NO_LIMIT`] where there is none.
    pub(super) money: Vec<f64>,
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
    /// Money of each year.
    pub(super) money: Vec<f64>,
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
        money: vec![0.0; offers.years()],
        worth: 0.0,
        law: 0,
        rule: 0,
    };
    for (trip, place) in places.iter().enumerate() {
        let offer = &offers.of(trip)[usize::from(*place)];
        let year = usize::from(*place);
        if let (Some(days), Some(money)) = (total.days.get_mut(year), total.money.get_mut(year)) {
            *days += offer.days;
            *money += offer.money;
        }
        total.worth += offer.worth;
        total.law += u64::from(offer.law);
        total.rule += u64::from(offer.rule);
    }
    total
}
