//! What is published or judged about wood: life curves by preservative, species group and zone, and detection.
//!
//! Knowledge is data: the TOML files in `models/` are compiled in and each carries its source or mark. [`text`] turns
//! them into the checked values here.

pub mod check;
mod figures;
mod file;
mod remedies;
mod sizes;
pub mod text;
mod twins;

pub use check::Check;
pub use remedies::AgentFigures;

use crate::pole::{Method, Pole, Preservative, Species};
use crate::units::Zone;
use crate::wood::{Detection, ServiceLife, Sizes};

/// Where a figure comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Origin {
    /// Citation or words of judgement.
    pub text: String,
    /// How far it can be relied on.
    pub mark: Mark,
}

/// How far a figure can be relied on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mark {
    /// Read in the cited source.
    Published,
    /// Judgement, to be replaced by the owner's own findings.
    Proposed,
    /// Known, not read.
    Memory,
    /// Common practice of the trade.
    CommonPractice,
}

impl Mark {
    /// All marks.
    pub const ALL: [Self; 4] = [
        Self::Published,
        Self::Proposed,
        Self::Memory,
        Self::CommonPractice,
    ];

    /// The words in model files and tables.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Published => "published",
            Self::Proposed => "proposed",
            Self::Memory => "memory",
            Self::CommonPractice => "common practice",
        }
    }
}

/// A curve of one model in one zone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct CellIndex(pub u16);

impl CellIndex {
    /// The index into slices that hold one entry a cell.
    pub const fn get(self) -> usize {
        self.0 as usize
    }
}

/// The service life of one kind of pole (preservative and species group) in one zone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cell {
    /// The kind's place in [`Models::kinds`].
    pub kind: usize,
    /// The zone.
    pub zone: Zone,
    /// The published or proposed life, reference diameter.
    pub life: ServiceLife,
    /// Standard deviation between fleets of the logarithm of the median.
    pub between_fleets_ln_sd: f64,
    /// Mean protected share.
    pub protected_mean: f64,
    /// Standard deviation of the protected share between poles.
    pub protected_sd: f64,
    /// Share of poles whose decay is internal.
    pub internal_share: f64,
}

/// One kind of pole: one file of `models/`.
#[derive(Debug, Clone, PartialEq)]
pub struct Kind {
    /// Id, the file's name.
    pub id: String,
    /// Title.
    pub title: String,
    /// Species groups that it is for.
    pub species: Vec<Species>,
    /// Preservatives that it is for.
    pub preservatives: Vec<Preservative>,
    /// Whether it is only for through-bored poles (`Some(true)`), only for others (`Some(false)`), or for both.
    pub through_bored: Option<bool>,
    /// Source or mark.
    pub origin: Origin,
    /// What this kind must give back.
    pub checks: Vec<Check>,
}

impl Kind {
    /// Whether this is the generic kind: the one that names no species and no preservative.
    pub fn is_generic(&self) -> bool {
        self.species.is_empty() && self.preservatives.is_empty()
    }

    /// Whether this kind is for such poles.
    fn is_for(
        &self,
        species: Species,
        preservative: Preservative,
        through_bored: Option<bool>,
    ) -> bool {
        let bored = through_bored.unwrap_or(false);
        self.species.contains(&species)
            && self.preservatives.contains(&preservative)
            && self.through_bored.is_none_or(|needed| needed == bored)
    }

    /// Whether some pole fits both kinds.
    pub fn overlaps(&self, other: &Self) -> bool {
        let bored = match (self.through_bored, other.through_bored) {
            (Some(one), Some(another)) => one == another,
            _ => true,
        };
        bored
            && self
                .species
                .iter()
                .any(|known| other.species.contains(known))
            && self
                .preservatives
                .iter()
                .any(|known| other.preservatives.contains(known))
    }
}

/// Figures of failure in wind that a programme may replace.
#[derive(Debug, Clone, PartialEq)]
pub struct HazardFigures {
    /// Design wind moment over the mean capacity of a new pole.
    pub use_of_capacity: f64,
    /// Its source or mark.
    pub use_of_capacity_origin: Origin,
    /// Coefficient of variation of strength between poles.
    pub strength_cov: f64,
    /// Its source or mark.
    pub strength_cov_origin: Origin,
    /// Source or mark of the early-failure curve that every cell carries.
    pub early_failures_origin: Origin,
}

/// All models of a run.
#[derive(Debug, Clone, PartialEq)]
pub struct Models {
    /// Kinds of poles; the last one is the generic kind for poles of unknown preservative or species.
    pub kinds: Vec<Kind>,
    /// Five cells a kind, in the order of kinds and zones.
    pub cells: Vec<Cell>,
    /// What inspections see.
    pub detection: Detection,
    /// Source or mark of the detection figures.
    pub detection_origin: Origin,
    /// Range of each method's sensitivity, by [`Method::index`].
    pub sensitivity_range: [[f64; 2]; Method::ALL.len()],
    /// Source or mark of each method's sensitivity, by [`Method::index`].
    pub method_origins: [Origin; Method::ALL.len()],
    /// How uncertain the figures are that the owner's findings are read with.
    pub doubts: Doubts,
    /// Failure in wind.
    pub hazard: HazardFigures,
    /// Classes, dimensions and fibre strengths of poles.
    pub sizes: Sizes,
    /// Remedial agents.
    pub remedies: AgentFigures,
    /// What the detection, hazard and agent figures must give back.
    pub checks: Vec<Check>,
}

/// How uncertain they are: prior standard deviations.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Doubts {
    /// Of the mean protected share.
    pub protected_mean: f64,
    /// Of the logarithm of the spread of ln life.
    pub spread_ln: f64,
    /// Ranges of sensitivity count as this many standard deviations to each side; 0 for no doubt.
    pub sensitivity: f64,
    /// Of the logarithm of the odds of hidden decay.
    pub hidden_ln_odds: f64,
    /// Of the logarithm of the scatter of readings.
    pub reading_ln: f64,
    /// Of the logarithm of the spread of shifts between areas.
    pub area_spread_ln: f64,
}

impl Doubts {
    /// The usual doubts, all proposed: no source states how far such figures are off. The ranges of sensitivity in
    /// `models/detection.toml` count as 90 % intervals.
    pub const USUAL: Self = Self {
        protected_mean: 0.08,
        spread_ln: 0.2,
        sensitivity: 1.0 / crate::maths::NINETY_PER_CENT,
        hidden_ln_odds: 0.5,
        reading_ln: 0.2,
        area_spread_ln: 0.4,
    };

    /// No doubt at all: the tables' values hold.
    pub const NONE: Self = Self {
        protected_mean: 0.0,
        spread_ln: 0.0,
        sensitivity: 0.0,
        hidden_ln_odds: 0.0,
        reading_ln: 0.0,
        area_spread_ln: 0.0,
    };
}

impl Models {
    /// One cell.
    pub fn cell(&self, index: CellIndex) -> &Cell {
        &self.cells[index.get()]
    }

    /// The kind of one cell.
    pub fn kind(&self, index: CellIndex) -> &Kind {
        &self.kinds[self.cell(index).kind]
    }

    /// The cell for what is known of a pole: its own kind where one applies, the nearest documented one where both facts
    /// are known and no kind is for them together, the generic kind otherwise.
    pub fn cell_for(
        &self,
        species: Option<Species>,
        preservative: Option<Preservative>,
        through_bored: Option<bool>,
        zone: Zone,
    ) -> CellIndex {
        let own = species.zip(preservative);
        let generic = self.kinds.len() - 1;
        let place = |(species, preservative)| {
            let kinds = &self.kinds[..generic];
            kinds
                .iter()
                .position(|kind| kind.is_for(species, preservative, through_bored))
        };
        let kind = own
            .and_then(|own| place(own).or_else(|| place(nearest(own)?)))
            .unwrap_or(generic);
        CellIndex((kind * Zone::COUNT + zone.index()) as u16)
    }

    /// Whether a pole of known species and preservative has no kind of its own and follows the nearest documented one, or
    /// the generic one.
    pub fn is_nearest(&self, pole: &Pole) -> bool {
        pole.species
            .zip(pole.preservative)
            .is_some_and(|(species, preservative)| {
                let own = |kind: &Kind| kind.is_for(species, preservative, pole.through_bored);
                !self.kinds.iter().any(own)
            })
    }

    /// Whether the cell is one of the generic kind.
    pub fn is_generic(&self, index: CellIndex) -> bool {
        self.cell(index).kind + 1 == self.kinds.len()
    }
}

/// The documented kind nearest to one that no file of `models/` is for (proposed: judgement).
///
/// Treated hardwoods: oils as creosote, arsenicals as CCA, both documented for them. Butt-treated softwoods: as
/// butt-treated cedar, the shorter-lived of what is documented of treated butts. Butt-treated hardwoods: as untreated
/// ones, since nothing shows what the butt's treatment adds. `None`: the generic kind.
fn nearest((species, preservative): (Species, Preservative)) -> Option<(Species, Preservative)> {
    let hardwood = matches!(
        species,
        Species::Eucalypt
            | Species::HardwoodClass1
            | Species::HardwoodClass2
            | Species::HardwoodClass3
    );
    match (hardwood, preservative) {
        (true, Preservative::Acza) => Some((species, Preservative::Cca)),
        (
            true,
            Preservative::Pentachlorophenol | Preservative::CopperNaphthenate | Preservative::Dcoit,
        ) => Some((species, Preservative::Creosote)),
        (true, Preservative::ButtTreated) => Some((species, Preservative::Untreated)),
        (false, Preservative::ButtTreated) => Some((Species::WesternRedcedar, preservative)),
        _ => None,
    }
}
