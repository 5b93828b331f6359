//! The direct-current board: busbars, the main path with disconnect and shunt, panels and their branch circuits,
//! converters for a second voltage.
//! Never: chooses chargers or the inverter.
//! Start at [`build_main`], then [`branches`].

use model::parts::{Busbar, Disconnect};
use model::{CircuitKind, DeviceIx, Inputs, Origin, Pole, Spec, TerminalRef, ZoneIx};
use quantity::{Amps, Fraction, Gauge, Metres, Volts, Written};

use crate::bank_build::BankBuilt;
use crate::builder::{Builder, feeding, terminal};
use crate::choose::PartAsk;
use crate::conductor_choice::Single;
use crate::run::{Guard, Run};
use crate::settings::{Length, Settings, assumed_length};

/// The pair of busbars that everything hangs on.
#[derive(Clone, Copy, Debug)]
pub struct Bars {
    pub positive: TerminalRef,
    pub negative: TerminalRef,
}

/// Shares of the allowed voltage drop: what the main and the feeders take is missing in the branches.
pub const MAIN_DROP: f64 = 0.01;
/// Share of [`MAIN_DROP`] that the leads of parallel strings to their bars may take.
pub const STRING_DROP: f64 = 0.004;

/// A pair of busbars that carry `current` and take `connections`.
#[allow(clippy::too_many_arguments)] // two devices with their names, place and duty
pub fn bars(
    builder: &mut Builder<'_>,
    settings: &Settings,
    positive_id: &str,
    negative_id: &str,
    title: &str,
    current: Amps,
    connections: usize,
    zone: ZoneIx,
    intent: &str,
) -> (TerminalRef, TerminalRef) {
    let most = builder.reference.terminals_per_stud();
    let path = format!("{positive_id}.part");
    let ask = PartAsk {
        path: &path,
        kind: "busbar",
        need: format!(
            "a busbar of {current} at {} with studs for {connections} lugs",
            settings.voltage_charging
        ),
        named: None,
        intent,
        inputs: Inputs::new().with("current", current, Origin::Derived("main.current".to_owned())).with(
            "lugs a stud, at most",
            most.value,
            Origin::Table(most.cite),
        ),
    };
    // Half the lugs a stud may take: room for what comes later, and air.
    let chosen = builder.choose(&builder.project.library.busbar, ask, |bar: &Busbar| {
        bar.current >= current
            && bar.voltage >= settings.voltage_charging
            && bar.studs as usize * most.value as usize / 2 >= connections
    });
    let (stud, spec) = match &chosen {
        Some((_, bar)) => (Some(bar.stud), bar.clone()),
        None => (None, imagined_bar(settings, current, connections)),
    };
    let mut made = Vec::new();
    for (id, pole, word) in
        [(positive_id, Pole::Positive, "positive"), (negative_id, Pole::Negative, "negative")]
    {
        let device = builder.device(
            id,
            &format!("{title}, {word}"),
            Spec::Busbar(spec.clone()),
            vec![feeding("bar", pole, stud, None)],
            zone,
            intent,
        );
        if let Some((id, bar)) = &chosen {
            builder.is_part(device, "busbar", id, bar);
        }
        made.push(builder.at(device, "bar"));
    }
    (made[0], made[1])
}

/// A busbar as it would have to be, where the library has none.
fn imagined_bar(settings: &Settings, current: Amps, connections: usize) -> Busbar {
    Busbar {
        title: "Busbar to be found".to_owned(),
        price: Vec::new(),
        mass: quantity::Kilograms::zero(),
        size: Vec::new(),
        note: None,
        footprint: None,
        current,
        voltage: settings.voltage_charging,
        studs: connections as u32,
        stud: model::parts::Stud::M10,
        screws: None,
    }
}

/// Length of the cables on the board from disconnect and shunt to the bars.
pub fn bridge_length() -> Metres {
    Metres::new(0.3)
}

/// Currents of the main path.
#[derive(Clone, Debug)]
pub struct MainDuty {
    pub discharge: Amps,
    pub charge: Amps,
    pub surge: Amps,
    /// What really runs together, at the lowest voltage: the drop is counted there.
    pub peak: Amps,
    pub connections: usize,
    pub step: String,
}

impl MainDuty {
    /// What the main path must carry.
    pub fn carry(&self) -> Amps {
        self.discharge.max(self.charge)
    }
}

/// Disconnect, shunt, busbars and the conductors between them and the bank.
pub fn build_main(builder: &mut Builder<'_>, settings: &Settings, bank: &BankBuilt, duty: &MainDuty) -> Bars {
    let carry = duty.carry();
    let steady = carry;
    let (positive_bar, negative_bar) = bars(
        builder,
        settings,
        "positive-bar",
        "negative-bar",
        "Busbar",
        carry,
        duty.connections + 2,
        settings.board_zone,
        "brief",
    );

    let disconnect = disconnect(
        builder,
        settings,
        "main.disconnect",
        "Main disconnect",
        carry,
        settings.voltage_charging,
        1,
        false,
    );
    let shunt = shunt(builder, settings, carry);
    let length = {
        let (usual, low, high) = assumed_length(settings.craft, Length::Bank);
        let said = builder.project.intent.bank.as_ref().and_then(|bank| bank.length);
        builder.given_length(
            "bank.length",
            said,
            usual,
            Some((low, high)),
            "from the bank to the board; measure the way the cable takes, one way",
            true,
        )
    };
    let (disconnect_in, disconnect_out) = (builder.at(disconnect, "in"), builder.at(disconnect, "out"));
    let (shunt_bank, shunt_system) = (builder.at(shunt, "bank"), builder.at(shunt, "system"));
    builder.source_loop.entry(bank.positive).or_insert(bank.bank.resistance);
    let circuit = builder.lay(
        settings,
        Run {
            id: "main".to_owned(),
            title: "Main".to_owned(),
            kind: CircuitKind::Main,
            voltage: settings.voltage,
            voltage_lowest: settings.voltage_low,
            steady,
            surge: duty.surge,
            drop_current: duty.peak.max(duty.charge).min(steady),
            continuous: true,
            critical: true,
            drop_limit: Fraction::new(if bank.bank.parallel > 2 {
                MAIN_DROP - STRING_DROP
            } else {
                MAIN_DROP
            }),
            factor: (
                1.0,
                Origin::Practice("the continuous factor is in the currents that add up here".to_owned()),
            ),
            from: (bank.positive, bank.negative),
            to: (disconnect_in, shunt_bank),
            length,
            zone: bank.bank.zone,
            bundle: 1,
            sheathed: true,
            guard: Guard::AtSource,
            intent: "bank".to_owned(),
            current_step: duty.step.clone(),
            current_inputs: Inputs::new(),
            serves: Vec::new(),
        },
    );
    builder.because(
        "main.drop-limit",
        Inputs::new().because(
            format!("{} %", MAIN_DROP * 100.0),
            "a small share, so that the branches keep the rest; common practice, no source",
        ),
    );
    // Short board cables from disconnect and shunt to the bars.
    let gauge =
        builder.conductors.iter().rev().find(|c| c.id == "main.positive").map_or(Gauge::Awg(-1), |c| c.gauge);
    let bridge = bridge_length();
    for (name, pole, ends) in [
        ("main.bar-positive", Pole::Positive, (disconnect_out, positive_bar)),
        ("main.bar-negative", Pole::Negative, (negative_bar, shunt_system)),
    ] {
        builder.lay_single(
            settings,
            Single {
                id: name,
                ends,
                pole,
                gauge,
                step: "the size of the main conductor, 0.3 m on the board",
                inputs: Inputs::new().with(
                    "main conductor",
                    gauge.show(),
                    Origin::Derived("main.positive.gauge".to_owned()),
                ),
                length: bridge,
                voltage: settings.voltage,
                zone: settings.board_zone,
                sheathed: true,
                circuit,
                intent: "bank",
            },
        );
    }
    let at_disconnect = builder.source_loop.get(&disconnect_in).copied().unwrap_or(settings.bank_loop);
    builder.source_loop.insert(positive_bar, at_disconnect);
    Bars { positive: positive_bar, negative: negative_bar }
}

/// A disconnect for `carry`.
#[allow(clippy::too_many_arguments)] // one choice has this many facts
pub fn disconnect(
    builder: &mut Builder<'_>,
    settings: &Settings,
    id: &str,
    title: &str,
    carry: Amps,
    voltage: Volts,
    poles: u32,
    for_array: bool,
) -> DeviceIx {
    let path = format!("{id}.part");
    let ask = PartAsk {
        path: &path,
        kind: "disconnect",
        need: format!(
            "a {poles}-pole disconnect{} of {carry} at {voltage}",
            if for_array { " made for a solar string" } else { "" }
        ),
        named: None,
        intent: "brief",
        inputs: Inputs::new().with(
            "current",
            carry,
            Origin::Derived(format!(
                "{}.current",
                if for_array { id.replace("disconnect", "array") } else { "main".to_owned() }
            )),
        ),
    };
    let chosen = builder.choose(&builder.project.library.disconnect, ask, |part: &Disconnect| {
        part.current >= carry
            && part.voltage >= voltage
            && part.poles >= poles
            && (part.for_array == Some(true)) == for_array
    });
    let spec = match &chosen {
        Some((_, part)) => part.clone(),
        None => Disconnect {
            title: "Disconnect to be found".to_owned(),
            price: Vec::new(),
            mass: quantity::Kilograms::zero(),
            size: Vec::new(),
            note: None,
            footprint: None,
            current: carry,
            voltage,
            poles,
            max_gauge: Gauge::Awg(-3),
            stud: None,
            for_array: Some(for_array),
        },
    };
    let (stud, most) = (spec.stud, Some(spec.max_gauge));
    let mut terminals =
        vec![terminal("in", Pole::Positive, stud, most), terminal("out", Pole::Positive, stud, most)];
    if poles >= 2 {
        terminals.push(terminal("in-negative", Pole::Negative, stud, most));
        terminals.push(terminal("out-negative", Pole::Negative, stud, most));
    }
    let device = builder.device(id, title, Spec::Disconnect(spec), terminals, settings.board_zone, "brief");
    if let Some((name, part)) = &chosen {
        builder.is_part(device, "disconnect", name, part);
    }
    device
}

fn shunt(builder: &mut Builder<'_>, settings: &Settings, carry: Amps) -> DeviceIx {
    let ask = PartAsk {
        path: "main.shunt.part",
        kind: "shunt",
        need: format!(
            "a shunt with monitor for {carry} at {}, in the only way of the bank's negative",
            settings.voltage_charging
        ),
        named: None,
        intent: "brief",
        inputs: Inputs::new().with("current", carry, Origin::Derived("main.current".to_owned())),
    };
    let chosen = builder.choose(&builder.project.library.shunt, ask, |part: &model::parts::Shunt| {
        part.current >= carry && part.voltage >= settings.voltage_charging
    });
    let spec = match &chosen {
        Some((_, part)) => part.clone(),
        None => model::parts::Shunt {
            title: "Shunt to be found".to_owned(),
            price: Vec::new(),
            mass: quantity::Kilograms::zero(),
            size: Vec::new(),
            note: None,
            footprint: None,
            current: carry,
            drop: Volts::new(0.05),
            voltage: settings.voltage_charging,
            idle: quantity::Watts::zero(),
            stud: model::parts::Stud::M10,
        },
    };
    let stud = Some(spec.stud);
    let device = builder.device(
        "main.shunt",
        "Shunt",
        Spec::Shunt(spec),
        vec![terminal("bank", Pole::Negative, stud, None), terminal("system", Pole::Negative, stud, None)],
        settings.board_zone,
        "brief",
    );
    if let Some((name, part)) = &chosen {
        builder.is_part(device, "shunt", name, part);
    }
    device
}
