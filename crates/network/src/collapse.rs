//! How far a network can go that cannot carry its constant-power loads.
//! Never: decides that it cannot; the iteration in `newton.rs` does.
//! Start at [`State::measure_collapse`].

use crate::netlist::ElementId;
use crate::newton::{Bend, Bent, Outcome, State};
use crate::solve::{Collapse, SolveError};
use quantity::{Fraction, Watts};

impl State<'_> {
    /// The constant-power load whose voltage is lowest against its voltage without them.
    pub(crate) fn lowest(&self) -> usize {
        let mut lowest = (f64::INFINITY, 0);
        for (i, bent) in self.bent.iter().enumerate() {
            if matches!(bent.bend, Bend::Power { floor: 0.0, .. }) && !bent.off {
                let share =
                    if bent.unloaded > 0.0 { self.across(bent) / bent.unloaded } else { f64::NEG_INFINITY };
                if share < lowest.0 {
                    lowest = (share, i);
                }
            }
        }
        lowest.1
    }

    /// Whether the network carries the constant-power loads at a scale.
    fn carries(&mut self, scale: f64) -> bool {
        self.unload().is_ok() && matches!(self.newton(scale, false), Ok(Outcome::Converged))
    }

    /// How far a network that cannot carry its loads could go; leaves the state there.
    pub(crate) fn measure_collapse(&mut self, index: usize) -> Result<Collapse, SolveError> {
        let iterations = self.iterations;
        let bisect = |state: &mut Self, test: &mut dyn FnMut(&mut Self, f64) -> bool| {
            let (mut low, mut high) = (0.0, 1.0);
            for _ in 0..40 {
                let middle = 0.5 * (low + high);
                if test(state, middle) {
                    low = middle
                } else {
                    high = middle
                }
                if high - low < 1e-9 * high {
                    break;
                }
            }
            low
        };
        let watts_of = |bent: &Bent| match bent.bend {
            Bend::Power { watts, .. } => watts,
            Bend::Limited { .. } => 0.0,
        };
        let asked = watts_of(&self.bent[index]);
        let give = |state: &mut Self, share: f64| {
            state.bent[index].off = share == 0.0;
            if let Bend::Power { watts, .. } = &mut state.bent[index].bend {
                *watts = asked * share;
            }
        };
        let mut one = |state: &mut Self, share: f64| {
            give(state, share);
            state.carries(1.0)
        };
        let share_of_one = if one(self, 0.0) { bisect(self, &mut one) } else { 0.0 };
        give(self, 1.0);
        let share_of_all = bisect(self, &mut |state: &mut Self, share| state.carries(share));
        self.carries(share_of_all);
        self.iterations = iterations;
        Ok(Collapse {
            load: ElementId(self.bent[index].element),
            asked: Watts::new(asked),
            most: Watts::new(asked * share_of_one),
            share_of_all: Fraction::new(share_of_all),
        })
    }
}
