//! The pure mathematics of one pole's wood: life curves, decay progress, sections, sizes, pockets, detection, strength, wind,
//! and the climate index of a place.
//!
//! Knows units and the facts of a pole, nothing of fleets, files or programmes' texts.

pub mod agents;
pub mod climate;
pub mod clock;
pub mod curve;
pub mod detection;
pub mod loads;
pub mod pockets;
pub mod progress;
pub mod second_opinion;
pub mod section;
pub mod sizes;
pub mod strength;
pub mod wind;

pub use agents::Agents;
pub use climate::{ClimateClass, Month, scheffer_index};
pub use clock::{Aging, Stretch, Upkeep};
pub use curve::{LifeCurve, ServiceLife};
pub use detection::{Detection, MethodDetection};
pub use pockets::{Pocket, PocketedSection};
pub use progress::Wood;
pub use section::Section;
pub use sizes::{FibreStrength, LikelyDiameter, Sizes};
pub use wind::FailureHazard;
