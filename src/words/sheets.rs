//! What the sheets of the workbook hold, in a sentence above each table.

/// The schedule's rows.
pub const NEAR_ROWS: &str = "What is planned for this plan year and the next, and what is called for and not planned (status deferred), most urgent first. schedule.csv has every pole.";

/// The packages.
pub const PACKAGES: &str = "Every planned round as a crew takes it, by year.";

/// The quantities.
pub const QUANTITIES: &str = "New poles needed by year, size, preservative and kind; P90s of sizes do not add up: take the rows that say total.";

/// What stands above the orders.
pub const ORDERS: &str = "What to order by when, by size, species and preservative, at the chosen chance of not running short; stock on hand and on order is taken off.";

/// The assumed figures.
pub const ASSUMPTIONS: &str =
    "Figures that stand in for what only the owner knows; set them in the programme.";

/// The cautions.
pub const CAUTIONS: &str =
    "What to beware of; the owner's procedures, local codes and licensed practice decide.";
