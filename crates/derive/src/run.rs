//! Laying a direct-current run: its protection, its two conductors, the links at its ends, and the reason of each.
//! Never: knows what the run is for; the callers say that in a [`Run`].
//! Start at [`Builder::lay`].

use model::parts::Supply;
use model::{Circuit, CircuitIx, CircuitKind, DeviceIx, Inputs, Origin, Pole, TerminalRef, ZoneIx};
use quantity::{Amps, Fraction, Gauge, Metres, Ohms, Volts};

use crate::builder::{Builder, Given};
use crate::settings::Settings;
use crate::sizing::{self};

/// Where the protection of a run sits.
#[derive(Clone, Debug)]
pub enum Guard {
    /// In a way of this panel.
    Way { panel: DeviceIx, family: String, largest: Amps },
    /// In a holder of its own beside the source.
    AtSource,
    /// In holders at both ends, since both ends can feed.
    BothEnds,
    /// None of its own: the source cannot give more than the conductor carries.
    Limited,
}

/// A run to lay.
#[derive(Clone, Debug)]
pub struct Run {
    pub id: String,
    pub title: String,
    pub kind: CircuitKind,
    pub voltage: Volts,
    pub voltage_lowest: Volts,
    pub steady: Amps,
    pub surge: Amps,
    pub drop_current: Amps,
    pub continuous: bool,
    pub critical: bool,
    pub drop_limit: Fraction,
    /// Factor on the steady current for protection and ampacity, with its source.
    pub factor: (f64, Origin),
    pub from: (TerminalRef, TerminalRef),
    pub to: (TerminalRef, TerminalRef),
    pub length: Given<Metres>,
    pub zone: ZoneIx,
    pub bundle: u32,
    pub sheathed: bool,
    pub guard: Guard,
    pub intent: String,
    /// What the steady current is made of.
    pub current_step: String,
    pub current_inputs: Inputs,
    pub serves: Vec<DeviceIx>,
}

impl Builder<'_> {
    /// Lays a run: enters its circuit, fuses, conductors and reasons.
    pub fn lay(&mut self, settings: &Settings, run: Run) -> CircuitIx {
        let id = run.id.clone();
        let carry = run.steady * run.factor.0;
        self.because(
            format!("{id}.current"),
            run.current_inputs.clone().because(run.steady, run.current_step.clone()),
        );

        let (pick, choice) = self.pick_fuse_and_conductor(settings, &run, carry);
        let circuit = self.circuit(Circuit {
            id: id.clone(),
            title: run.title.clone(),
            kind: run.kind,
            supply: Supply::Dc,
            voltage: run.voltage,
            voltage_lowest: run.voltage_lowest,
            current_steady: run.steady,
            current_surge: run.surge,
            continuous: run.continuous,
            critical: run.critical,
            drop_limit: run.drop_limit,
            protection_least: carry,
            protection: Vec::new(),
            serves: run.serves.clone(),
            intent: run.intent.clone(),
        });

        // Protection, source end first.
        let mut from_positive = run.from.0;
        let mut to_positive = run.to.0;
        let mut fuse_resistance = Ohms::zero();
        if let Some(pick) = &pick {
            let near = self.place_fuse(settings, &run, &format!("{id}.fuse"), pick, &run.guard);
            self.link(
                &format!("{id}.link"),
                run.from.0,
                self.at(near, "in"),
                Pole::Positive,
                choice.gauge,
                circuit,
            );
            from_positive = self.at(near, "out");
            fuse_resistance = pick.resistance;
            self.circuits[circuit].protection.push(near);
            if matches!(run.guard, Guard::BothEnds) {
                let far = self.place_fuse(settings, &run, &format!("{id}.fuse-far"), pick, &run.guard);
                // The far fuse's source is what stands at the far end.
                let (inner, outer) = (self.at(far, "out"), self.at(far, "in"));
                self.link(&format!("{id}.link-far"), inner, run.to.0, Pole::Positive, choice.gauge, circuit);
                to_positive = outer;
                fuse_resistance += pick.resistance;
                self.circuits[circuit].protection.push(far);
            }
        }

        let cores = 1;
        self.conductor(
            settings,
            &run,
            circuit,
            "positive",
            Pole::Positive,
            choice.gauge,
            (from_positive, to_positive),
            cores,
        );
        let negative = self.negative_gauge(&run, &choice);
        self.conductor(
            settings,
            &run,
            circuit,
            "negative",
            Pole::Negative,
            negative,
            (run.to.1, run.from.1),
            cores,
        );

        self.carry_loop(settings, &run, choice.gauge, fuse_resistance);
        circuit
    }

    /// Carries the cold loop resistance from the run's source to its end, for the fault currents further on.
    fn carry_loop(&mut self, settings: &Settings, run: &Run, gauge: Gauge, fuse: Ohms) {
        if matches!(run.kind, CircuitKind::Branch | CircuitKind::Array | CircuitKind::Charge) {
            return;
        }
        let source = self.source_loop.get(&run.from.0).copied().unwrap_or(settings.bank_loop);
        let coldest = self.zones[run.zone].coldest;
        let cable = sizing::loop_resistance(gauge, settings.tinned, run.length.value, coldest)
            .unwrap_or(Ohms::zero());
        self.source_loop.entry(run.to.0).or_insert(source + fuse + cable);
    }
}
