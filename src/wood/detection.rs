//! What an inspection says about the wood: the curves of model section 2. The same curves serve the likelihood, the
//! denominator of the calibration and the trials.

use crate::pole::{Method, Mode};

/// How well one method sees decay.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MethodDetection {
    /// Chance of finding decay that has just reached the reference limit.
    pub sensitivity: f64,
    /// Chance that a sound pole is called decayed.
    pub false_find: f64,
    /// Chance that decay found where there is none is judged below the limit.
    pub false_reject: f64,
    /// Standard deviation of a reading in millimetres, by [`Mode::index`].
    pub measure_sd_mm: [f64; Mode::ALL.len()],
    /// Standard deviation of an unmeasured verdict, in progress.
    pub verdict_sd: f64,
}

impl MethodDetection {
    /// Chance that decay of this progress is seen at all, false finds apart: `g(s)`.
    pub fn seen(&self, _progress: f64) -> f64 {
        unimplemented!()
    }

    /// Chance that the pole is called decayed.
    pub fn found(&self, _progress: f64) -> f64 {
        unimplemented!()
    }

    /// Chance that the pole is found decayed and judged below the limit, which lies at `limit` in progress.
    pub fn rejected(&self, _progress: f64, _limit: f64) -> f64 {
        unimplemented!()
    }

    /// Density of a reading `observed` (in progress) on a pole of this progress, `sd` the reading's in progress.
    pub fn reading(&self, _observed: f64, _progress: f64, _sd: f64) -> f64 {
        unimplemented!()
    }
}

/// Detection by every method, and what hides decay from several visits at once.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Detection {
    /// By [`Method::index`].
    pub methods: [MethodDetection; Method::ALL.len()],
    /// Share of poles whose decay is hidden from every method short of full excavation with boring.
    pub hidden_share: f64,
}

impl Detection {
    /// How well `method` sees.
    pub fn of(&self, method: Method) -> &MethodDetection {
        &self.methods[method.index()]
    }
}
