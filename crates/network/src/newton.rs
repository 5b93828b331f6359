//! The iteration behind `solve`: from the linear start down to the steady state, or to the proof that there
//! is none.
//! Never: builds the matrix pattern (see `factor.rs`), speaks in quantities.
//! Start at [`State::run`], after the method below.
//!
//! # Method
//! Nodal analysis with sources as Norton equivalents, so the matrix of a network without constant power is
//! symmetric and positive definite. A constant-power load adds the symmetric slope `−P/V²`. Along the stable,
//! high-voltage branch the sum stays positive definite and it first becomes singular where the branch ends,
//! at the most power the network can carry. So `L·D·Lᵀ` serves throughout, cheaper than `LU`, and the signs
//! of `D` tell the branch. Newton starts where each load follows its tangent at the highest source voltage
//! (or draws nothing), which is at or above the answer. Where every load's current lowers the voltage at
//! every other load (any feeder or ring of one polarity), `P/V` being convex, its steps go down monotonically
//! to the highest solution (monotone Newton theorem, Ortega and Rheinboldt 1970, 13.3), so it cannot land on
//! the low branch. Limited sources are piecewise linear: each step is searched along the co-content of the
//! network, whose minimum is the solution.

use crate::factor::Factor;
use crate::netlist::{BelowCutoff, Element, ElementId, Kind, Netlist};
use crate::solve::{Collapse, Full, Island, Plan, SolveError};

/// Largest relative step [V/V] of the last iteration.
pub(crate) const TOLERANCE: f64 = 1e-10;
/// A step that stops shrinking below this is at the rounding of the matrix (a 1 nΩ link beside 1 Ω); it
/// counts as converged.
pub(crate) const ROUNDING: f64 = 1e-7;
const MOST_ITERATIONS: u32 = 300;
/// Slope of a limited source outside its range, relative to inside: keeps the matrix regular, moves results
/// by parts in 1e9.
pub(crate) const LEAK: f64 = 1e-9;

/// An element whose current is `g·u + c` from row `a` to row `b`.
pub(crate) struct Linear {
    a: u32,
    b: u32,
    g: f64,
    c: f64,
}

#[derive(Clone, Copy)]
pub(crate) enum Bend {
    /// Constant power above `floor` volts, constant current below; `floor` 0 for a load without cutoff.
    Power {
        watts: f64,
        floor: f64,
        stops: bool,
    },
    Limited {
        volts: f64,
        limit: f64,
        g: f64,
    },
}

/// An element whose slope depends on its voltage.
pub(crate) struct Bent {
    pub(crate) element: u32,
    a: u32,
    b: u32,
    pub(crate) bend: Bend,
    pub(crate) off: bool,
    /// Voltage across it before constant-power loads draw.
    pub(crate) unloaded: f64,
    current: f64,
    slope: f64,
}

impl Bend {
    /// Current from `a` to `b`, and its slope, at `u` volts.
    pub(crate) fn at(self, u: f64, scale: f64) -> (f64, f64) {
        match self {
            Bend::Power { watts, floor, .. } => {
                let watts = watts * scale;
                if u > floor {
                    (watts / u, -watts / (u * u))
                } else if floor > 0.0 {
                    (watts / floor, 0.0)
                } else {
                    (0.0, 0.0)
                }
            }
            Bend::Limited { volts, limit, g } => {
                let wanted = (volts - u) * g;
                // A source exactly at its voltage is about to regulate: rounding must not make it idle.
                if wanted < -1e-12 * volts.abs() * g {
                    (-LEAK * wanted, LEAK * g)
                } else if wanted > limit {
                    (-limit - LEAK * (wanted - limit), LEAK * g)
                } else {
                    (-wanted, g)
                }
            }
        }
    }
}

pub(crate) enum Outcome {
    Converged,
    /// Index into `bent` of the load that fell furthest.
    Collapsed(usize),
}

pub(crate) struct State<'a> {
    pub(crate) plan: &'a Plan,
    pub(crate) full: &'a Full,
    linear: Vec<Linear>,
    pub(crate) bent: Vec<Bent>,
    /// Matrix of the linear elements; one slot more than values, for nothing.
    base: Vec<f64>,
    /// Matrix of the current step, and then its factor in the same place.
    factor: Factor,
    /// Voltage of each row; the last is the reference.
    pub(crate) v: Vec<f64>,
    unloaded: Vec<f64>,
    step: Vec<f64>,
    residual: Vec<f64>,
    pub(crate) islands: Vec<Island>,
    pub(crate) stopped: Vec<ElementId>,
    pub(crate) iterations: u32,
    pub(crate) has_limited: bool,
    has_cutoff: bool,
    /// Highest voltage of any source.
    pub(crate) highest: f64,
}

impl<'a> State<'a> {
    pub(crate) fn new(plan: &'a Plan, netlist: &Netlist, islands: Vec<Island>) -> Self {
        let full = plan.full(netlist);
        let n = full.pattern.len();
        let mut state = Self {
            plan,
            full,
            linear: Vec::with_capacity(netlist.elements.len()),
            bent: Vec::new(),
            base: vec![0.0; full.pattern.value_count() + 1],
            factor: Factor { values: Vec::new() },
            v: vec![0.0; n + 1],
            unloaded: Vec::new(),
            step: vec![0.0; n + 1],
            residual: vec![0.0; n + 1],
            islands,
            stopped: Vec::new(),
            iterations: 0,
            has_limited: false,
            has_cutoff: false,
            highest: 1e-3,
        };
        for (i, e) in netlist.elements.iter().enumerate() {
            state.add(i, e);
        }
        state
    }

    fn add(&mut self, i: usize, e: &Element) {
        let (plan, full) = (self.plan, self.full);
        let (a, b) = (full.rows[e.a as usize], full.rows[e.b as usize]);
        let island = plan.island_of[e.a as usize];
        let is_fed = island == plan.island_of[e.b as usize] && self.islands[island as usize].has_source;
        let mut bend = |bend, off| {
            let element = i as u32;
            self.bent.push(Bent { element, a, b, bend, off, unloaded: 0.0, current: 0.0, slope: 0.0 });
        };
        let (g, c) = match e.kind {
            Kind::Resistor { ohms } => (1.0 / ohms, 0.0),
            Kind::Emf { volts, ohms } => {
                self.highest = self.highest.max(volts.abs());
                (1.0 / ohms, -volts / ohms)
            }
            Kind::Current { amps } => (0.0, if is_fed { amps } else { 0.0 }),
            Kind::Power { watts, cutoff } => {
                let floor = cutoff.map_or(0.0, |(volts, _)| volts);
                self.has_cutoff |= cutoff.is_some();
                let stops = matches!(cutoff, Some((_, BelowCutoff::Stops)));
                bend(Bend::Power { watts, floor, stops }, !is_fed || watts == 0.0);
                return;
            }
            Kind::Limited { volts, limit, ohms } => {
                bend(Bend::Limited { volts, limit, g: 1.0 / ohms }, false);
                self.has_limited = true;
                self.highest = self.highest.max(volts.abs());
                return;
            }
        };
        if g != 0.0 {
            stamp(&mut self.base, full.stamps[i], g);
        }
        if g != 0.0 || c != 0.0 {
            self.linear.push(Linear { a, b, g, c });
        }
    }

    /// Finds the steady state, switching loads off as they fall below their cutoff.
    pub(crate) fn run(&mut self) -> Result<Option<Collapse>, SolveError> {
        // Most networks carry their loads: try the short way first.
        let mut quick = None;
        if self.linear_state(Some(self.highest)) && self.is_above_cutoffs() {
            self.iterations += 1;
            quick = self.newton(1.0, false).ok().filter(|o| matches!(o, Outcome::Converged));
        }
        loop {
            let outcome = match quick.take() {
                Some(outcome) => outcome,
                None => {
                    self.unload()?;
                    self.newton(1.0, true)?
                }
            };
            // Of the loads with a cutoff that are below it, the one furthest below goes first; its going may
            // save the others.
            let falling = |s: &Self, all: bool| {
                let mut worst: Option<(f64, usize)> = None;
                for (i, bent) in s.bent.iter().enumerate() {
                    if let Bend::Power { floor, stops: true, .. } = bent.bend
                        && !bent.off
                    {
                        let share = s.across(bent) / floor;
                        if (all || share < 1.0) && worst.is_none_or(|w| share < w.0) {
                            worst = Some((share, i));
                        }
                    }
                }
                worst
            };
            let worst = falling(self, matches!(outcome, Outcome::Collapsed(_)));
            match (outcome, worst) {
                (_, Some((_, i))) => {
                    self.bent[i].off = true;
                    self.stopped.push(ElementId(self.bent[i].element));
                }
                (Outcome::Converged, None) => return Ok(None),
                (Outcome::Collapsed(i), None) => return self.measure_collapse(i).map(Some),
            }
        }
    }

    pub(crate) fn across(&self, bent: &Bent) -> f64 {
        self.v[bent.a as usize] - self.v[bent.b as usize]
    }

    /// The linear state with every limited source holding its voltage. With `at`, loads follow their tangent
    /// at that voltage: `P/u` being convex they then draw no more than they will, so Newton still comes from
    /// above, and its first step is saved. Without, they draw nothing. `false` if the tangents are too steep
    /// for the network.
    fn linear_state(&mut self, at: Option<f64>) -> bool {
        self.factor.values.clone_from(&self.base);
        self.v.fill(0.0);
        for e in &self.linear {
            self.v[e.a as usize] -= e.c;
            self.v[e.b as usize] += e.c;
        }
        for bent in self.bent.iter().filter(|b| !b.off) {
            let (g, c) = match (bent.bend, at) {
                (Bend::Limited { volts, g, .. }, _) => (g, -g * volts),
                (power @ Bend::Power { .. }, Some(at)) => {
                    let (i, slope) = power.at(at, 1.0);
                    (slope, i - slope * at)
                }
                (Bend::Power { .. }, None) => continue,
            };
            stamp(&mut self.factor.values, self.full.stamps[bent.element as usize], g);
            self.v[bent.a as usize] -= c;
            self.v[bent.b as usize] += c;
        }
        if !self.factor.factorise(&self.full.pattern) {
            return false;
        }
        self.factor.solve(&self.full.pattern, &mut self.v);
        self.v[self.full.pattern.len()] = 0.0;
        true
    }

    fn is_above_cutoffs(&self) -> bool {
        !self.has_cutoff
            || self.bent.iter().all(
                |b| !matches!(b.bend, Bend::Power { floor, .. } if floor > 0.0 && self.across(b) < floor),
            )
    }

    /// Goes to the state without constant-power loads, and remembers it.
    pub(crate) fn unload(&mut self) -> Result<(), SolveError> {
        if self.unloaded.is_empty() {
            if !self.linear_state(None) {
                return Err(SolveError::NotConverged { iterations: self.iterations });
            }
            self.unloaded.clone_from(&self.v);
            for i in 0..self.bent.len() {
                self.bent[i].unloaded = self.across(&self.bent[i]);
            }
        }
        self.v.copy_from_slice(&self.unloaded);
        Ok(())
    }

    /// Newton from the present state, with constant powers scaled. `thorough`: where the matrix is not
    /// positive definite, try the slower steps that need no convexity before calling it a collapse.
    pub(crate) fn newton(&mut self, scale: f64, thorough: bool) -> Result<Outcome, SolveError> {
        let has_power = self.bent.iter().any(|b| !b.off && matches!(b.bend, Bend::Power { .. }));
        let (mut last, mut smooth) = (f64::INFINITY, 0);
        let mut is_current = !has_power && !self.has_limited;
        for iteration in 1..=MOST_ITERATIONS {
            self.iterations += 1;
            for value in &mut self.residual {
                *value = 0.0;
            }
            for e in &self.linear {
                let i = e.g * (self.v[e.a as usize] - self.v[e.b as usize]) + e.c;
                self.residual[e.a as usize] -= i;
                self.residual[e.b as usize] += i;
            }
            let mut is_changed = false;
            for bent in &mut self.bent {
                if bent.off {
                    continue;
                }
                let u = self.v[bent.a as usize] - self.v[bent.b as usize];
                let (i, slope) = bent.bend.at(u, scale);
                is_changed |= slope != bent.slope;
                bent.current = i;
                bent.slope = slope;
                self.residual[bent.a as usize] -= i;
                self.residual[bent.b as usize] += i;
                if scale > 0.0
                    && u <= 1e-3 * bent.unloaded.max(0.0)
                    && let Bend::Power { floor: 0.0, .. } = bent.bend
                {
                    return Ok(Outcome::Collapsed(self.lowest()));
                }
            }
            if is_changed || !is_current {
                is_current = self.assemble();
                if !is_current {
                    // With a cutoff or a limit ahead the slopes may yet change for the better.
                    if !thorough && !self.has_limited && !self.has_cutoff {
                        return Ok(Outcome::Collapsed(self.lowest()));
                    }
                    // Chord step: loads as fixed currents. Always positive definite, and a descent of the
                    // co-content.
                    for bent in &mut self.bent {
                        bent.slope = bent.slope.max(0.0);
                    }
                    if !self.assemble() {
                        return Err(SolveError::NotConverged { iterations: self.iterations });
                    }
                }
            }
            self.find_step();
            // Below its cutoff a load draws less than its tangent says, so a step past the cutoff could
            // overshoot the solution: such loads take this step as fixed currents.
            let mut is_held = false;
            for i in 0..self.bent.len() {
                let (u, du) = self.along(&self.bent[i]);
                if let Bend::Power { floor, .. } = self.bent[i].bend
                    && self.bent[i].slope < 0.0
                    && u + du < floor
                {
                    self.bent[i].slope = 0.0;
                    is_held = true;
                }
            }
            if is_held {
                is_current = false;
                if !self.assemble() {
                    return Err(SolveError::NotConverged { iterations: self.iterations });
                }
                self.find_step();
            }
            let (t, is_bent) = self.length();
            smooth = if is_bent || !is_current { 0 } else { smooth + 1 };
            let (mut size, mut largest) = (0.0f64, 1.0f64);
            for (v, d) in self.v.iter_mut().zip(&self.step) {
                *v += t * d;
                size = size.max(d.abs());
                largest = largest.max(v.abs());
            }
            let relative = size / largest;
            // Newton's next step would be about C·step², with C from the last two; no need to make one that
            // small.
            let next = if smooth > 1 { relative * (relative / last).powi(2) } else { relative };
            let is_stuck = iteration > 3 && relative < ROUNDING && relative > 0.5 * last;
            if t == 1.0 && (is_current || is_held) && (relative.min(next) <= TOLERANCE || is_stuck) {
                // `max` skips "not a number", a sum does not.
                if !self.v.iter().sum::<f64>().is_finite() {
                    return Err(SolveError::NotConverged { iterations: self.iterations });
                }
                return Ok(Outcome::Converged);
            }
            if !relative.is_finite() {
                return Err(SolveError::NotConverged { iterations: self.iterations });
            }
            last = relative;
        }
        if has_power {
            return Ok(Outcome::Collapsed(self.lowest()));
        }
        Err(SolveError::NotConverged { iterations: self.iterations })
    }

    /// Makes the matrix of the present slopes and factorises it; `false` if it is not positive definite.
    fn assemble(&mut self) -> bool {
        self.factor.values.clone_from(&self.base);
        for bent in self.bent.iter().filter(|b| !b.off) {
            stamp(&mut self.factor.values, self.full.stamps[bent.element as usize], bent.slope);
        }
        self.factor.factorise(&self.full.pattern)
    }

    fn find_step(&mut self) {
        self.step.copy_from_slice(&self.residual);
        self.factor.solve(&self.full.pattern, &mut self.step);
        self.step[self.full.pattern.len()] = 0.0;
    }

    /// How much of the step to take: no load below a fifth of its voltage, and up to the first minimum of the
    /// co-content along the step, and whether a limited source changes its regime on the way. Loads are taken
    /// at their tangent (a Newton step) or fixed current (a chord step). Both of these draw no
    /// more than the load itself on the way down, so the minimum lies at or above the solution. The slope is
    /// piecewise linear along the step.
    fn length(&self) -> (f64, bool) {
        let mut most = 1.0f64;
        let mut breaks = Vec::new();
        for bent in self.bent.iter().filter(|b| !b.off) {
            let (u, du) = self.along(bent);
            match bent.bend {
                Bend::Power { floor, .. } => {
                    if floor == 0.0 && u + most * du < 0.2 * u {
                        most = -0.8 * u / du;
                    }
                }
                Bend::Limited { volts, limit, g } => {
                    for kink in [volts, volts - limit / g] {
                        let t = (kink - u) / du;
                        if t > 0.0 && t < 1.0 {
                            breaks.push(t);
                        }
                    }
                }
            }
        }
        breaks.retain(|&t| t < most);
        // With every source in one regime all along, the step ends at the minimum by itself.
        if breaks.is_empty() {
            return (most, false);
        }
        breaks.push(most);
        breaks.sort_by(f64::total_cmp);
        let (mut at_start, mut growth) = (0.0, 0.0);
        for e in &self.linear {
            let (a, b) = (e.a as usize, e.b as usize);
            let du = self.step[a] - self.step[b];
            at_start += (e.g * (self.v[a] - self.v[b]) + e.c) * du;
            growth += e.g * du * du;
        }
        for bent in self.bent.iter().filter(|b| !b.off && matches!(b.bend, Bend::Power { .. })) {
            let du = self.along(bent).1;
            at_start += bent.current * du;
            growth += bent.slope * du * du;
        }
        let slope = |t: f64| {
            let mut sum = at_start + t * growth;
            for bent in self.bent.iter().filter(|b| matches!(b.bend, Bend::Limited { .. })) {
                let (u, du) = self.along(bent);
                sum += bent.bend.at(u + t * du, 1.0).0 * du;
            }
            sum
        };
        let (mut from, mut before) = (0.0, slope(0.0));
        for &t in &breaks {
            let here = slope(t);
            if here > 0.0 && before < 0.0 {
                let at = from + (t - from) * before / (before - here);
                // Within rounding of the full step, take the full step: only that one can end the iteration.
                return (if at > 1.0 - 1e-9 { 1.0 } else { at }, true);
            }
            (from, before) = (t, here);
        }
        (most, true)
    }

    fn along(&self, bent: &Bent) -> (f64, f64) {
        let (a, b) = (bent.a as usize, bent.b as usize);
        (self.v[a] - self.v[b], self.step[a] - self.step[b])
    }
}

pub(crate) fn stamp(values: &mut [f64], slots: [u32; 3], g: f64) {
    values[slots[0] as usize] += g;
    values[slots[1] as usize] += g;
    values[slots[2] as usize] -= g;
}
