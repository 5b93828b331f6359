//! Laying a direct-current run: its protection, its two conductors, the links at its ends, and the reason of each.
//! Never: knows what the run is for; the callers say that in a [`Run`].
//! Start at [`Builder::lay`].

use model::parts::Supply;
use model::{Circuit, CircuitIx, CircuitKind, DeviceIx, Inputs, Origin, Pole, TerminalRef, ZoneIx};
use quantity::{Amps, Fraction, Gauge, Metres, Ohms, Volts, Written};

use crate::builder::{Builder, Given};
use crate::conductor_choice::Single;
use crate::fuse_choice::{FusePick, jumper_length};
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
    pub fn lay(&mut self, settings: &Settings, mut run: Run) -> CircuitIx {
        let id = run.id.clone();
        run.length = self.run_length(&id, ["positive", "negative"], run.length);
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
            let ends = (run.from.0, self.at(near, "in"));
            self.lay_jumper(settings, &run, pick, &format!("{id}.jumper"), ends, choice.gauge, circuit);
            from_positive = self.at(near, "out");
            fuse_resistance = pick.resistance;
            self.circuits[circuit].protection.push(near);
            if matches!(run.guard, Guard::BothEnds) {
                let far = self.place_fuse(settings, &run, &format!("{id}.fuse-far"), pick, &run.guard);
                // The far fuse's source is what stands at the far end.
                let ends = (self.at(far, "out"), run.to.0);
                self.lay_jumper(
                    settings,
                    &run,
                    pick,
                    &format!("{id}.jumper-far"),
                    ends,
                    choice.gauge,
                    circuit,
                );
                to_positive = self.at(far, "in");
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

    /// From a source to the fuse beside it: a short conductor, or nothing where the fuse sits on the source's own stud or
    /// in a panel's way.
    #[allow(clippy::too_many_arguments)] // one conductor has this many facts
    fn lay_jumper(
        &mut self,
        settings: &Settings,
        run: &Run,
        pick: &FusePick,
        id: &str,
        ends: (TerminalRef, TerminalRef),
        gauge: Gauge,
        circuit: CircuitIx,
    ) {
        if pick.on_post || matches!(run.guard, Guard::Way { .. }) {
            self.link(id, ends.0, ends.1, Pole::Positive, gauge, circuit);
            return;
        }
        let zone = if run.kind == CircuitKind::Engine { run.zone } else { settings.board_zone };
        let behind = Origin::Derived(format!("{}.positive.gauge", run.id));
        // On a designed board it may be longer than it may be bare.
        let length = self.measured.whole.get(id).copied().unwrap_or_else(jumper_length);
        let bare = self.reference.protection_distance(settings.rules, false, false);
        let sheathed = length > bare.value;
        if sheathed {
            let inputs = Inputs::new()
                .with("length on the board", length, Origin::Derived(format!("{id}.length")))
                .with("longest bare before its fuse", bare.value, Origin::Table(bare.cite));
            self.because(
                format!("{id}.sheathed"),
                inputs.because(
                    "yes",
                    "longer than it may be bare, so it runs in sheath or conduit all the way to its fuse",
                ),
            );
        }
        self.lay_single(
            settings,
            Single {
                id,
                ends,
                pole: Pole::Positive,
                gauge,
                step: "the size of the conductor behind the fuse, as short as the holder allows",
                inputs: Inputs::new().with("conductor behind the fuse", gauge.show(), behind),
                length: jumper_length(),
                voltage: run.voltage,
                zone,
                sheathed,
                circuit,
                intent: &run.intent,
            },
        );
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
