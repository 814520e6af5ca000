//! One pole and one inspection, as facts: what is recorded, with everything unknown left unknown.
//!
//! Also the vocabularies of the trade that owners' codes are mapped to. Each word is the one that programmes, tables
//! and layers use; nothing here computes.

mod above;
mod class;
mod decision;
mod pockets;

pub use above::{Defect, Defects};
pub use class::PoleClass;
pub use decision::{Action, DecisionKind};
pub use pockets::{SeenPocket, SeenPockets};

use crate::problem::Source;
use crate::units::{Date, Mm, NewtonMetre, Zone};
use std::num::NonZeroU32;

/// A vocabulary: a fixed list of words with a meaning each.
pub trait Vocabulary: Copy + Sized + 'static {
    /// The whole list.
    const WORDS: &'static [(Self, &'static str, &'static str)];

    /// The entry that `word` names.
    fn from_word(word: &str) -> Option<Self> {
        Self::WORDS
            .iter()
            .find(|(_, name, _)| *name == word)
            .map(|(value, _, _)| *value)
    }

    /// The word of this entry.
    fn word(self) -> &'static str
    where
        Self: PartialEq,
    {
        Self::WORDS
            .iter()
            .find(|(value, _, _)| *value == self)
            .map_or("", |(_, name, _)| name)
    }
}

/// Species of wood, grouped as the service-life curves group them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Species {
    /// Southern, Scots, red, radiata and other pines with thick treatable sapwood.
    Pine,
    /// Douglas-fir and larches: a thin treated shell over heartwood.
    DouglasFir,
    /// Western redcedar.
    WesternRedcedar,
    /// Spruces and true firs: hard to treat.
    Spruce,
    /// Eucalypts and other dense hardwoods that are pressure treated.
    Eucalypt,
    /// Hardwood of in-ground durability class 1, untreated.
    HardwoodClass1,
    /// Hardwood of in-ground durability class 2, untreated.
    HardwoodClass2,
    /// Wood of in-ground durability class 3, untreated.
    HardwoodClass3,
}

impl Vocabulary for Species {
    const WORDS: &'static [(Self, &'static str, &'static str)] = &[
        (
            Self::Pine,
            "pine",
            "southern, Scots, red, radiata and other pines",
        ),
        (Self::DouglasFir, "douglas_fir", "Douglas-fir and larches"),
        (
            Self::WesternRedcedar,
            "western_redcedar",
            "western redcedar",
        ),
        (Self::Spruce, "spruce", "spruces and true firs"),
        (
            Self::Eucalypt,
            "eucalypt",
            "treated eucalypts and other dense hardwoods",
        ),
        (
            Self::HardwoodClass1,
            "hardwood_class_1",
            "hardwood of in-ground durability class 1",
        ),
        (
            Self::HardwoodClass2,
            "hardwood_class_2",
            "hardwood of in-ground durability class 2",
        ),
        (
            Self::HardwoodClass3,
            "hardwood_class_3",
            "wood of in-ground durability class 3",
        ),
    ];
}

/// Preservative treatment.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Preservative {
    /// Creosote, pressure, full length.
    Creosote,
    /// Pentachlorophenol in oil.
    Pentachlorophenol,
    /// Chromated copper arsenate or an equal arsenical.
    Cca,
    /// Ammoniacal copper (zinc) arsenate.
    Acza,
    /// Copper naphthenate in oil.
    CopperNaphthenate,
    /// Dichloro-octyl-isothiazolinone in oil.
    Dcoit,
    /// Only the butt was treated, with whatever agent.
    ButtTreated,
    /// None.
    Untreated,
}

impl Vocabulary for Preservative {
    const WORDS: &'static [(Self, &'static str, &'static str)] = &[
        (Self::Creosote, "creosote", "creosote, pressure"),
        (
            Self::Pentachlorophenol,
            "pentachlorophenol",
            "pentachlorophenol in oil",
        ),
        (
            Self::Cca,
            "cca",
            "chromated copper arsenate or an equal arsenical",
        ),
        (Self::Acza, "acza", "ammoniacal copper (zinc) arsenate"),
        (
            Self::CopperNaphthenate,
            "copper_naphthenate",
            "copper naphthenate in oil",
        ),
        (Self::Dcoit, "dcoit", "DCOIT in oil"),
        (Self::ButtTreated, "butt_treated", "butt-treated only"),
        (Self::Untreated, "untreated", "no preservative"),
    ];
}

/// What the pole is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Material {
    /// Wood.
    Wood,
    /// Anything else: never in scope.
    Other,
}

impl Vocabulary for Material {
    const WORDS: &'static [(Self, &'static str, &'static str)] = &[
        (Self::Wood, "wood", "wood"),
        (Self::Other, "other", "any other material: out of scope"),
    ];
}

/// Whether the pole is in service.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum Status {
    /// In service.
    #[default]
    InService,
    /// Standing without a purpose.
    Abandoned,
    /// A stub or the cut-off remains of a pole.
    Stub,
    /// Gone.
    Removed,
}

impl Vocabulary for Status {
    const WORDS: &'static [(Self, &'static str, &'static str)] = &[
        (Self::InService, "in_service", "in service"),
        (Self::Abandoned, "abandoned", "standing without a purpose"),
        (Self::Stub, "stub", "a stub or the remains of a pole"),
        (Self::Removed, "removed", "no longer there"),
    ];
}

/// What a failure of the pole would endanger.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Consequence {
    /// Ordinary.
    Ordinary,
    /// A road, a railway, a school, water or a zone prone to fire.
    High,
}

impl Vocabulary for Consequence {
    const WORDS: &'static [(Self, &'static str, &'static str)] = &[
        (Self::Ordinary, "ordinary", "nothing out of the ordinary"),
        (
            Self::High,
            "high",
            "road, rail, school, water or fire-prone place",
        ),
    ];
}

/// How an inspection was done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Method {
    /// Sight only.
    Patrol,
    /// Hammer.
    Sound,
    /// Hammer and boring.
    SoundAndBore,
    /// Dug on one side, hammer and boring.
    PartialExcavation,
    /// Dug all round, boring.
    FullExcavation,
    /// An instrument at the groundline.
    Instrument,
}

impl Method {
    /// All methods, weakest first.
    pub const ALL: [Self; 6] = [
        Self::Patrol,
        Self::Sound,
        Self::SoundAndBore,
        Self::PartialExcavation,
        Self::FullExcavation,
        Self::Instrument,
    ];

    /// The method's place in tables that hold one entry a method.
    pub const fn index(self) -> usize {
        self as usize
    }

    /// Whether the method looks into the wood: only then does it count as an inspection for a cycle.
    pub const fn is_intrusive(self) -> bool {
        !matches!(self, Self::Patrol | Self::Sound)
    }

    /// Place in the order of strength, weakest first: what a rule's least method and the clearing of a verdict are
    /// measured by. An instrument counts as partial excavation: it looks at the groundline without digging all round
    /// (judgement).
    pub const fn strength(self) -> u8 {
        match self {
            Self::Patrol => 0,
            Self::Sound => 1,
            Self::SoundAndBore => 2,
            Self::PartialExcavation | Self::Instrument => 3,
            Self::FullExcavation => 4,
        }
    }

    /// Whether this method is as strong as `least` or stronger.
    pub const fn is_at_least(self, least: Self) -> bool {
        self.strength() >= least.strength()
    }
}

impl Vocabulary for Method {
    const WORDS: &'static [(Self, &'static str, &'static str)] = &[
        (Self::Patrol, "patrol", "sight only"),
        (Self::Sound, "sound", "hammer only"),
        (
            Self::SoundAndBore,
            "sound_and_bore",
            "hammer and boring, not dug",
        ),
        (
            Self::PartialExcavation,
            "partial_excavation",
            "dug on one side, hammer and boring",
        ),
        (
            Self::FullExcavation,
            "full_excavation",
            "dug all round, boring",
        ),
        (
            Self::Instrument,
            "instrument",
            "an instrument at the groundline",
        ),
    ];
}

/// What the inspector concluded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Verdict {
    /// No decay found.
    Sound,
    /// Decay found, the pole stays.
    DecayServiceable,
    /// Below the limit; a brace would restore it.
    RejectReinforceable,
    /// Below the limit; to be replaced.
    RejectReplace,
    /// To be made safe today.
    Danger,
    /// Not inspected, for a reason that the remarks give.
    NotInspected,
}

impl Verdict {
    /// Whether the pole was judged below the limit.
    pub const fn is_reject(self) -> bool {
        matches!(
            self,
            Self::RejectReinforceable | Self::RejectReplace | Self::Danger
        )
    }
}

impl Vocabulary for Verdict {
    const WORDS: &'static [(Self, &'static str, &'static str)] = &[
        (Self::Sound, "sound", "no decay found"),
        (
            Self::DecayServiceable,
            "decay_serviceable",
            "decay found, the pole stays",
        ),
        (
            Self::RejectReinforceable,
            "reject_reinforceable",
            "below the limit, a brace would restore it",
        ),
        (
            Self::RejectReplace,
            "reject_replace",
            "below the limit, to be replaced",
        ),
        (Self::Danger, "danger", "to be made safe today"),
        (
            Self::NotInspected,
            "not_inspected",
            "not inspected; the remarks say why",
        ),
    ];
}

/// Where the decay is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Mode {
    /// From the outside.
    External,
    /// A hollow inside.
    Internal,
}

impl Mode {
    /// Both modes.
    pub const ALL: [Self; 2] = [Self::External, Self::Internal];

    /// The mode's place in tables that hold one entry a mode.
    pub const fn index(self) -> usize {
        self as usize
    }
}

/// Where an inspector saw decay.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum SeenMode {
    /// Outside only.
    External,
    /// Inside only.
    Internal,
    /// Both.
    Both,
}

impl Vocabulary for SeenMode {
    const WORDS: &'static [(Self, &'static str, &'static str)] = &[
        (Self::External, "external", "decay from the outside"),
        (Self::Internal, "internal", "a hollow inside"),
        (Self::Both, "both", "outside decay and a hollow"),
    ];
}

/// Work that was done at a pole.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum WorkKind {
    /// A remedial treatment.
    RemedialTreatment,
    /// A reinforcement was fitted.
    Reinforced,
    /// A new pole took its place.
    Replaced,
    /// The pole was taken away.
    Removed,
    /// A dangerous pole was made safe.
    MadeSafe,
}

impl Vocabulary for WorkKind {
    const WORDS: &'static [(Self, &'static str, &'static str)] = &[
        (
            Self::RemedialTreatment,
            "remedial_treatment",
            "a remedial treatment was given",
        ),
        (
            Self::Reinforced,
            "reinforced",
            "a reinforcement was fitted at the groundline",
        ),
        (Self::Replaced, "replaced", "a new pole took its place"),
        (
            Self::Removed,
            "removed",
            "the pole was taken away, and none took its place",
        ),
        (
            Self::MadeSafe,
            "made_safe",
            "a dangerous pole was made safe; its verdict still stands",
        ),
    ];
}

/// Whether something else than its own wood and an ordinary load brought a pole down.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Assistance {
    /// A storm, a vehicle or a tree.
    Assisted,
    /// Nothing else.
    Unassisted,
}

impl Vocabulary for Assistance {
    const WORDS: &'static [(Self, &'static str, &'static str)] = &[
        (
            Self::Assisted,
            "assisted",
            "a storm, a vehicle or a tree brought it down; yes means this",
        ),
        (
            Self::Unassisted,
            "unassisted",
            "it came down under ordinary loads; no means this",
        ),
    ];
}

/// Why a pole is gone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum RemovalCause {
    /// An inspection judged it below the limit.
    Condemned,
    /// It failed in service.
    Failed,
    /// Something that has nothing to do with its wood.
    Other,
}

impl RemovalCause {
    /// All causes, in the order of [`RemovalCause::index`].
    pub const ALL: [Self; 3] = [Self::Condemned, Self::Failed, Self::Other];

    /// Its place in [`RemovalCause::ALL`].
    pub const fn index(self) -> usize {
        self as usize
    }
}

impl Vocabulary for RemovalCause {
    const WORDS: &'static [(Self, &'static str, &'static str)] = &[
        (
            Self::Condemned,
            "condemned",
            "an inspection judged it below the limit",
        ),
        (Self::Failed, "failed", "it failed in service"),
        (
            Self::Other,
            "other",
            "road works, a vehicle, an upgrade: nothing that its wood has to do with",
        ),
    ];
}

/// A text in the inventory's store of names: lines, districts, classes, owners. No name takes no more room than one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct NameIndex(NonZeroU32);

impl NameIndex {
    /// The name at a place in the store, counted from 0.
    pub const fn new(place: u32) -> Self {
        Self(NonZeroU32::MIN.saturating_add(place))
    }

    /// The name's place in the store.
    pub const fn get(self) -> usize {
        self.0.get() as usize - 1
    }
}

/// A pole's place in the inventory.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PoleIndex(pub u32);

impl PoleIndex {
    /// The place as an index into slices that hold one entry a pole.
    pub const fn get(self) -> usize {
        self.0 as usize
    }
}

/// A point on the earth, WGS 84 degrees.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// Degrees east.
    pub longitude: f64,
    /// Degrees north.
    pub latitude: f64,
}

/// What a pole must bear at the groundline, by the design of its line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Loading {
    /// The bending moment required of the pole when new.
    Moment(NewtonMetre),
    /// The same as a share of what the pole could bear when new.
    UseOfCapacity(f64),
}

/// Agent of a remedial treatment.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Agent {
    /// Metam sodium, a liquid fumigant.
    MetamSodium,
    /// Methyl isothiocyanate, a solid or encapsulated fumigant.
    Mitc,
    /// Dazomet, a granular fumigant.
    Dazomet,
    /// Chloropicrin, a liquid fumigant.
    Chloropicrin,
    /// Boron rods.
    BoronRod,
    /// Fluoride rods.
    FluorideRod,
    /// Preservative paste under a wrap at the groundline.
    Paste,
    /// Boron or fluoride bandage at the groundline.
    Bandage,
}

impl Agent {
    /// All agents, in the order of tables that hold one entry an agent.
    pub const ALL: [Self; 8] = [
        Self::MetamSodium,
        Self::Mitc,
        Self::Dazomet,
        Self::Chloropicrin,
        Self::BoronRod,
        Self::FluorideRod,
        Self::Paste,
        Self::Bandage,
    ];

    /// The agent's place in such tables.
    pub const fn index(self) -> usize {
        self as usize
    }
}

impl Vocabulary for Agent {
    const WORDS: &'static [(Self, &'static str, &'static str)] = &[
        (
            Self::MetamSodium,
            "metam_sodium",
            "metam sodium, a liquid fumigant",
        ),
        (
            Self::Mitc,
            "mitc",
            "methyl isothiocyanate, a solid fumigant",
        ),
        (Self::Dazomet, "dazomet", "dazomet, a granular fumigant"),
        (
            Self::Chloropicrin,
            "chloropicrin",
            "chloropicrin, a liquid fumigant",
        ),
        (Self::BoronRod, "boron_rod", "boron rods"),
        (Self::FluorideRod, "fluoride_rod", "fluoride rods"),
        (
            Self::Paste,
            "paste",
            "preservative paste under a wrap at the groundline",
        ),
        (
            Self::Bandage,
            "bandage",
            "boron or fluoride bandage at the groundline",
        ),
    ];
}

/// Where a remedial agent was put.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum AgentPlace {
    /// Around the pole at the groundline.
    GroundlineExternal,
    /// Into the wood: bored holes or the hollow.
    Internal,
}

impl AgentPlace {
    /// The decay that an agent in this place can slow.
    pub const fn mode(self) -> Mode {
        match self {
            Self::GroundlineExternal => Mode::External,
            Self::Internal => Mode::Internal,
        }
    }
}

impl Vocabulary for AgentPlace {
    const WORDS: &'static [(Self, &'static str, &'static str)] = &[
        (
            Self::GroundlineExternal,
            "groundline_external",
            "around the pole at the groundline",
        ),
        (
            Self::Internal,
            "internal",
            "into the wood: bored holes or the hollow",
        ),
    ];
}

/// Kind of a reinforcement at the groundline.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum BraceType {
    /// A steel section driven beside the pole and banded to it.
    Steel,
    /// A sleeve of fibre and resin.
    FibreWrap,
    /// A stub of wood set beside the pole and banded to it.
    WoodStub,
    /// Any other.
    Other,
}

impl Vocabulary for BraceType {
    const WORDS: &'static [(Self, &'static str, &'static str)] = &[
        (
            Self::Steel,
            "steel",
            "a steel section driven beside the pole and banded to it",
        ),
        (Self::FibreWrap, "fibre_wrap", "a sleeve of fibre and resin"),
        (
            Self::WoodStub,
            "wood_stub",
            "a stub of wood set beside the pole and banded to it",
        ),
        (Self::Other, "other", "any other reinforcement"),
    ];
}

/// Reinforcement that stands at the pole.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Reinforcement {
    /// When it was fitted, if recorded. Without a day nothing is credited: nobody knows how much of its life is left.
    pub since: Option<Date>,
    /// What it is, if recorded.
    pub kind: Option<BraceType>,
}

/// Where a pole's set date comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum SetFrom {
    /// The record of the pole, if there is a date at all.
    #[default]
    Record,
    /// The maker's brand.
    Brand,
    /// A row that stands for several poles, whose dates are spread over its years.
    Count,
}

/// A pole's recorded facts. The id is the inventory's ([`Inventory::id`](crate::Inventory::id)).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pole {
    /// Line or feeder.
    pub line: Option<NameIndex>,
    /// Place in the line.
    pub sequence: Option<i32>,
    /// District.
    pub district: Option<NameIndex>,
    /// Where it stands.
    pub place: Option<Place>,
    /// Decay zone; the programme's default where the list has none.
    pub zone: Zone,
    /// Whether the zone is only the programme's default.
    pub zone_is_default: bool,
    /// In service or not.
    pub status: Status,
    /// When it went, for removed poles that the owner still lists.
    pub removed: Option<Date>,
    /// Length.
    pub length: Option<Mm>,
    /// Pole class, as the owner writes it.
    pub class: Option<NameIndex>,
    /// The class of the American tables that it is, where the list leaves no doubt.
    pub size_class: Option<PoleClass>,
    /// Diameter of the top when new.
    pub top_diameter: Option<Mm>,
    /// Groundline diameter when new, measured; never guessed.
    pub diameter: Option<Mm>,
    /// What it must bear at the groundline.
    pub loading: Option<Loading>,
    /// Species group.
    pub species: Option<Species>,
    /// Preservative.
    pub preservative: Option<Preservative>,
    /// Through-bored (or bored at the groundline) before treatment.
    pub through_bored: Option<bool>,
    /// When it was set. Where only the year is known: its middle.
    pub installed: Option<Date>,
    /// Where the set date comes from.
    pub set_from: SetFrom,
    /// Reinforcement that stands at the pole.
    pub reinforced: Option<Reinforcement>,
    /// What a failure would endanger.
    pub consequence: Option<Consequence>,
    /// Whether any problem was recorded for this pole.
    pub has_problems: bool,
    /// Whether nobody knows that it is of wood: its material is a code that nobody explained, or is blank in a list that is
    /// mostly not of wood. It is planned for as if it were of wood.
    pub material_unknown: bool,
    /// What else is recorded, as a text to show: nothing is computed from it.
    pub also: Option<NameIndex>,
    /// Where the record stands.
    pub source: Source,
}

impl Pole {
    /// Gives its names other numbers.
    pub fn rename(&mut self, new_name: impl Fn(NameIndex) -> NameIndex) {
        let names = [
            &mut self.line,
            &mut self.district,
            &mut self.class,
            &mut self.also,
        ];
        for name in names {
            *name = name.map(&new_name);
        }
    }
}

/// One inspection of one pole.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Inspection {
    /// The pole.
    pub pole: PoleIndex,
    /// When.
    pub date: Date,
    /// How.
    pub method: Method,
    /// With what conclusion.
    pub verdict: Verdict,
    /// Circumference of what is left at the groundline.
    pub remaining_circumference: Option<Mm>,
    /// Circumference when new, measured where the wood is sound.
    pub original_circumference: Option<Mm>,
    /// Depth of decay from the outside, all round.
    pub outside_decay_depth: Option<Mm>,
    /// Sound wood around a hollow, measured on what is left after the outside decay: the mean of the readings.
    pub sound_shell: Option<Mm>,
    /// The least of the sound-shell readings.
    pub least_sound_shell: Option<Mm>,
    /// Local pockets of decay at the groundline, open to the surface.
    pub pockets: SeenPockets,
    /// Defects above the groundline; `None` where the record says nothing of them.
    pub above_ground: Option<Defects>,
    /// Where decay was seen.
    pub seen_mode: Option<SeenMode>,
    /// Whether a remedial treatment was given at this visit.
    pub treated: bool,
    /// With what; a treatment of which it is not known is credited with nothing.
    pub agent: Option<Agent>,
    /// Where it was put; where its agent usually goes, when not given.
    pub agent_place: Option<AgentPlace>,
    /// Who did it: a contractor.
    pub contractor: Option<NameIndex>,
    /// Whose eyes and hands it was.
    pub inspector: Option<NameIndex>,
    /// What was written down besides.
    pub remarks: Option<NameIndex>,
    /// What else is recorded, as a text to show: nothing is computed from it.
    pub also: Option<NameIndex>,
    /// Where the record stands.
    pub source: Source,
}

impl Inspection {
    /// Gives its names other numbers.
    pub fn rename(&mut self, new_name: impl Fn(NameIndex) -> NameIndex) {
        let names = [
            &mut self.contractor,
            &mut self.inspector,
            &mut self.remarks,
            &mut self.also,
        ];
        for name in names {
            *name = name.map(&new_name);
        }
    }

    /// An inspection that measured nothing; its pole is filled in by [`Inventory::new`](crate::Inventory::new).
    pub const fn unmeasured(date: Date, method: Method, verdict: Verdict) -> Self {
        Self {
            pole: PoleIndex(0),
            date,
            method,
            verdict,
            remaining_circumference: None,
            original_circumference: None,
            outside_decay_depth: None,
            sound_shell: None,
            least_sound_shell: None,
            pockets: SeenPockets::of_none(),
            above_ground: None,
            seen_mode: None,
            treated: false,
            agent: None,
            agent_place: None,
            contractor: None,
            inspector: None,
            remarks: None,
            also: None,
            source: Source { file: 0, row: 0 },
        }
    }
}
