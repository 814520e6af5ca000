//! Whether the plan tells the truth: looking back ([`hindcast`]), what contractors found against what like poles should
//! show ([`practice`]), and the plan's own numbers held against each other ([`crosscheck`]); and what rules called for against what was done
//! ([`compliance`]).
//!
//! Calls the plan's steps again on what was known earlier, or on less than is known; changes no plan. Knows no file.

pub mod bands;
pub mod baseline;
pub mod compliance;
pub mod crosscheck;
pub mod exact;
pub mod expected;
pub mod failing;
pub mod forecast;
pub mod funding;
pub mod hindcast;
pub mod metrics;
pub mod practice;
pub mod previous;
pub mod progress;
pub mod scores;
pub mod whole_rounds;
