//! Which single fault explains the readings: each is tried in the network, its size fitted, and ranked by what it leaves.
//! Never: tries two faults at once, decides whether a reading is good.
//! Start at [`Search::rank`].
//!
//! The bank's voltage at rest is not known exactly, so in each state it is fitted beside the fault:
//! `ΔE = Σ d·r/σ² / (Σ d²/σ² + 1/σE²)`, with r what a reading stands above the network, d its change with the bank's
//! voltage, and σE how well that was known before. What is left counts by Student's t with 4 degrees of freedom,
//! `5 · ln(1 + r²/4σ²)`, so that one bad reading does not outvote all others.

use model::{Pole, Spec, System};
use network::Solution;

use crate::expected::Expected;
use crate::live::bank_range;
use crate::readings::Readings;
use crate::twin::{Change, Moment, Path, Probe, Twin};

/// Factors on the size that the straight line suggests; a network with loads of constant power bends.
const FACTORS: [f64; 4] = [0.5, 0.8, 1.0, 2.0];
const BANK_TIMES: [f64; 4] = [2.0, 4.0, 8.0, 20.0];
const LOAD_TIMES: [f64; 5] = [0.0, 0.5, 1.5, 2.0, 3.5];
const DRAW_AMPS: [f64; 5] = [0.3, 1.0, 3.0, 8.0, 25.0];
const SOURCE_TIMES: [f64; 5] = [0.0, 0.25, 0.5, 0.75, 1.5];
/// Drop by which a joint's pattern is found [V].
const PATTERN_V: f64 = 0.1;
/// Halvings of the step when a size is refined.
const REFINE: usize = 5;
/// Faults whose size is refined.
const REFINED: usize = 16;
/// What a fault whose size was fitted must gain more than one without a size.
const PER_SIZE: f64 = 1.0;
/// Conductors break less often than fuses blow. Common practice, no source.
const BROKEN_CONDUCTOR: f64 = 1.0;

/// A reading that the network tells.
struct Seen {
    probe: Probe,
    value: f64,
    sigma: f64,
}

/// A state with readings.
struct Scene<'t> {
    twin: &'t Twin,
    seen: Vec<Seen>,
    /// What is known of the bank's voltage at rest, and how well [V].
    prior: (f64, f64),
    /// The bank's voltage at rest that fits best without a fault [V], and what is read there.
    plain: (f64, Vec<f64>),
}

/// A fault with how well it explains the readings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Fit {
    pub change: Change,
    /// What is left; smaller is better.
    pub score: f64,
}

/// The readings of a system's network, ready to try faults on.
pub(crate) struct Search<'t> {
    system: &'t System,
    twins: &'t [Twin],
    scenes: Vec<Scene<'t>>,
    priors: Vec<(Moment, (f64, f64))>,
}

impl<'t> Search<'t> {
    pub(crate) fn of(
        system: &'t System,
        twins: &'t [Twin],
        expected: &[Expected],
        readings: &Readings,
        is_used: impl Fn(&Expected) -> bool,
    ) -> Self {
        let (range, _) = bank_range(system, 0.1);
        let measured = readings.value("rest:bank").map(|value| value.number());
        let measured = measured.filter(|volts| *volts > range[0] * 0.5 && *volts < range[2] * 1.3);
        let priors: Vec<(Moment, (f64, f64))> = twins
            .iter()
            .map(|twin| {
                let wide = ((range[0] + range[2]) / 2.0, (range[2] - range[0]) / 2.0);
                let prior = match (measured, twin.moment) {
                    // While it is charged or has just been, it stands up to a tenth above its rest.
                    (_, Moment::Charging) => (range[1] * 1.02, range[1] * 0.05),
                    (Some(volts), _) => (volts, volts * 0.008),
                    (None, _) => wide,
                };
                (twin.moment, prior)
            })
            .collect();
        let scenes = twins
            .iter()
            .filter_map(|twin| {
                let seen: Vec<Seen> = expected
                    .iter()
                    .filter(|expected| expected.moment == Some(twin.moment) && is_used(expected))
                    .filter_map(|expected| {
                        let value = readings.value(&expected.id)?.number();
                        Some(Seen { probe: expected.probe?, value, sigma: expected.sigma.max(1e-6) })
                    })
                    .collect();
                let prior = priors.iter().find(|(moment, _)| *moment == twin.moment)?.1;
                if seen.is_empty() {
                    return None;
                }
                let mut scene = Scene { twin, seen, prior, plain: (prior.0, Vec::new()) };
                let volts = scene.fit(Change::Nothing)?.1;
                scene.plain = (volts, scene.read(volts, Change::Nothing)?);
                Some(scene)
            })
            .collect();
        Self { system, twins, scenes, priors }
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.scenes.is_empty()
    }

    /// What a change leaves over all states.
    pub(crate) fn score(&self, change: Change) -> f64 {
        self.scenes.iter().map(|scene| scene.fit(change).map_or(1e9, |(score, _)| score)).sum()
    }

    /// Every state with a change, at the voltage of the bank that fits it best.
    pub(crate) fn solved(&self, change: Change) -> Solved<'t> {
        let at = |twin: &'t Twin| {
            let fitted = self.scenes.iter().find(|scene| scene.twin.moment == twin.moment);
            let volts = fitted.and_then(|scene| scene.fit(change)).map_or_else(
                || {
                    self.priors
                        .iter()
                        .find(|(known, _)| *known == twin.moment)
                        .map_or(0.0, |(_, prior)| prior.0)
                },
                |(_, volts)| volts,
            );
            Some((twin, twin.solve(volts, change)?))
        };
        Solved(self.twins.iter().filter_map(at).collect())
    }

    pub(crate) fn ohms(&self, path: Path) -> f64 {
        self.twins.first().and_then(|twin| twin.ohms(path)).unwrap_or(0.0)
    }

    /// What a change leaves at the bank's voltage that fits no fault: quick, to find those worth fitting.
    fn rough(&self, change: Change) -> f64 {
        self.scenes.iter().map(|scene| scene.rough(change).unwrap_or(1e9)).sum()
    }

    /// Every single fault, the likeliest first.
    pub(crate) fn rank(&self) -> Vec<Fit> {
        let mut rough: Vec<(Change, f64)> = Vec::new();
        let mut best_of = |changes: Vec<Change>, cost: f64| {
            let scored = changes.into_iter().map(|change| (change, self.rough(change) + cost));
            rough.extend(scored.min_by(|a, b| a.1.total_cmp(&b.1)));
        };
        let is_dark = self.scenes.iter().any(Scene::has_dead_reading);
        for (path, amps) in self.paths() {
            if let Some(ohms) = self.straight(path, amps) {
                best_of(FACTORS.iter().map(|factor| Change::Extra(path, ohms * factor)).collect(), PER_SIZE);
            }
            if is_dark {
                let cost = if matches!(path, Path::Conductor(_)) { BROKEN_CONDUCTOR } else { 0.0 };
                best_of(vec![Change::Open(path)], cost);
            }
        }
        best_of(BANK_TIMES.map(Change::Bank).to_vec(), PER_SIZE);
        best_of(DRAW_AMPS.map(Change::Draw).to_vec(), PER_SIZE);
        for ix in 0..self.system.devices.len() {
            if self.scenes.iter().any(|scene| scene.twin.has_power(ix)) {
                best_of(LOAD_TIMES.map(|times| Change::Load(ix, times)).to_vec(), PER_SIZE);
            }
            if self.scenes.iter().any(|scene| scene.twin.gives(ix)) {
                best_of(SOURCE_TIMES.map(|times| Change::Source(ix, times)).to_vec(), PER_SIZE);
            }
        }
        rough.sort_by(|a, b| a.1.total_cmp(&b.1));
        let mut fits: Vec<Fit> = rough
            .into_iter()
            .take(REFINED)
            .map(|(change, _)| {
                let cost = match change {
                    Change::Open(Path::Conductor(_)) => BROKEN_CONDUCTOR,
                    Change::Open(_) | Change::Nothing => 0.0,
                    _ => PER_SIZE,
                };
                self.refined(Fit { change, score: self.score(change) + cost })
            })
            .collect();
        fits.sort_by(|a, b| a.score.total_cmp(&b.score));
        fits
    }

    /// Extra ohms by which a part's pattern explains most, as if the network were a straight line; `None` where none does.
    fn straight(&self, path: Path, amps: f64) -> Option<f64> {
        let ohms = PATTERN_V / amps.abs().max(1e-3);
        let (mut top, mut below) = (0.0, 0.0);
        for scene in &self.scenes {
            let changed = scene.read(scene.plain.0, Change::Extra(path, ohms))?;
            for ((seen, plain), changed) in scene.seen.iter().zip(&scene.plain.1).zip(changed) {
                let weight = 1.0 / (seen.sigma * seen.sigma);
                let pattern = changed - plain;
                top += weight * pattern * (seen.value - plain);
                below += weight * pattern * pattern;
            }
        }
        let times = top / below;
        (times.is_finite() && times > 0.01).then_some(ohms * times)
    }

    fn refined(&self, fit: Fit) -> Fit {
        let make = |size: f64| match fit.change {
            Change::Extra(path, _) => Some(Change::Extra(path, size)),
            Change::Bank(_) => Some(Change::Bank(size)),
            Change::Draw(_) => Some(Change::Draw(size)),
            Change::Load(ix, _) => Some(Change::Load(ix, size)),
            Change::Source(ix, _) => Some(Change::Source(ix, size)),
            Change::Nothing | Change::Open(_) => None,
        };
        let size = match fit.change {
            Change::Extra(_, size)
            | Change::Bank(size)
            | Change::Draw(size)
            | Change::Load(_, size)
            | Change::Source(_, size) => size,
            Change::Nothing | Change::Open(_) => 0.0,
        };
        let (mut best, mut size, mut step) = (fit, size, 1.5);
        if size <= 0.0 {
            return best;
        }
        for _ in 0..REFINE {
            for next in [size * step, size / step] {
                let Some(change) = make(next) else { return best };
                let score = self.score(change) + PER_SIZE;
                if score < best.score {
                    (best, size) = (Fit { change, score }, next);
                }
            }
            step = f64::sqrt(step);
        }
        best
    }

    /// Everything on the DC side that carries current in a state with readings, with the most that it carries [A].
    fn paths(&self) -> Vec<(Path, f64)> {
        let mut paths = Vec::new();
        for (ix, conductor) in self.system.conductors.iter().enumerate() {
            if matches!(conductor.pole, Pole::Positive | Pole::Negative) {
                paths.push(Path::Conductor(ix));
            }
        }
        for (ix, device) in self.system.devices.iter().enumerate() {
            if matches!(
                device.spec,
                Spec::Fuse(_) | Spec::Breaker(_) | Spec::Disconnect(_) | Spec::Relay(_) | Spec::Shunt(_)
            ) {
                paths.push(Path::Device(ix));
            }
        }
        let solved: Vec<(&Twin, Solution)> = self
            .scenes
            .iter()
            .filter_map(|scene| Some((scene.twin, scene.twin.solve(scene.plain.0, Change::Nothing)?)))
            .collect();
        let most = |path: Path| {
            let amps = solved.iter().filter_map(|(twin, solution)| twin.amps(solution, path));
            amps.fold(0.0, |most: f64, amps| most.max(amps.abs()))
        };
        paths.into_iter().map(|path| (path, most(path))).filter(|(_, amps)| *amps > 1e-6).collect()
    }
}

/// The states of a system with one change, solved.
pub(crate) struct Solved<'t>(Vec<(&'t Twin, Solution)>);

impl Solved<'_> {
    /// What a probe reads in a state.
    pub(crate) fn read(&self, moment: Moment, probe: Probe) -> Option<f64> {
        let (twin, solution) = self.0.iter().find(|(twin, _)| twin.moment == moment)?;
        twin.read(solution, probe)
    }
    /// Most current through a part in any steady state [A].
    pub(crate) fn most_amps(&self, path: Path) -> f64 {
        let steady = self.0.iter().filter(|(twin, _)| twin.moment != Moment::Starting);
        steady
            .filter_map(|(twin, solution)| twin.amps(solution, path))
            .fold(0.0, |most: f64, amps| most.max(amps.abs()))
    }
}

impl Scene<'_> {
    /// Whether something that should be live or run reads next to nothing.
    fn has_dead_reading(&self) -> bool {
        let is_dead = |(seen, plain): (&Seen, &f64)| {
            // A drop is small anyway; what tells is a place that should stand at volts, or amps that should flow.
            let is_large = matches!(seen.probe, Probe::Amps(_)) || plain.abs() > 3.0;
            is_large && plain.abs() > 6.0 * seen.sigma && seen.value.abs() < 0.6 * plain.abs()
        };
        self.seen.iter().zip(&self.plain.1).any(is_dead)
    }

    fn rough(&self, change: Change) -> Option<f64> {
        Some(self.left(&self.read(self.plain.0, change)?))
    }

    fn left(&self, read: &[f64]) -> f64 {
        let one = |(seen, read): (&Seen, &f64)| {
            let off = (seen.value - read) / seen.sigma;
            5.0 * quantity::math::ln(1.0 + off * off / 4.0)
        };
        self.seen.iter().zip(read).map(one).sum()
    }

    /// What a change leaves in this state, and the bank's voltage that leaves least.
    fn fit(&self, change: Change) -> Option<(f64, f64)> {
        let (at, sure) = self.prior;
        let step = sure.max(0.01) * 0.5;
        let (low, high) = (self.read(at, change)?, self.read(at + step, change)?);
        let (mut top, mut below) = (0.0, 1.0 / (sure * sure));
        for ((seen, low), high) in self.seen.iter().zip(&low).zip(&high) {
            let slope = (high - low) / step;
            let left = seen.value - low;
            // Far off is what a fault does, and tells nothing of the bank.
            let weight = 1.0
                / (seen.sigma
                    * seen.sigma
                    * (1.0 + left * left / (16.0 * seen.sigma * seen.sigma).max(sure * sure)));
            top += weight * slope * left;
            below += weight * slope * slope;
        }
        let shift = (top / below).clamp(-3.0 * sure, 3.0 * sure);
        let volts = at + shift;
        let read = self.read(volts, change)?;
        let left = self.left(&read);
        Some((left + (shift / sure) * (shift / sure), volts))
    }

    fn read(&self, bank_v: f64, change: Change) -> Option<Vec<f64>> {
        let solution = self.twin.solve(bank_v, change)?;
        self.seen.iter().map(|seen| self.twin.read(&solution, seen.probe)).collect()
    }
}
