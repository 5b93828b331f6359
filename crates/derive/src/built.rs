//! What is built otherwise than derived: devices left out or added, ends moved, values changed.
//! Never: mends anything. An existing system is studied and judged as it is.
//! Start at [`apply`].

use model::parts::{Battery, Supply};
use model::{
    BatteryAt, BuiltChange, Circuit, CircuitKind, Conductor, DeviceIx, Fuse, Inputs, Name, Origin, Pole,
    Spec, TerminalRef, Unused,
};
use quantity::{Amps, Fraction, Metres, Written};

use crate::builder::{Builder, feeding, terminal};
use crate::fuse_choice::jumper_length;
use crate::settings::Settings;

/// What is wrong with a change, and how to mend it.
type Fault = (String, String);

/// Makes every built change, in the order of the file.
pub fn apply(builder: &mut Builder<'_>, settings: &Settings) {
    for (index, change) in builder.project.intent.built.iter().enumerate() {
        let intent = format!("built[{index}]");
        if let Err((message, mend)) = apply_one(builder, settings, change, &intent) {
            builder.unused.push(Unused { intent, message, mend });
        }
    }
}

fn apply_one(
    builder: &mut Builder<'_>,
    settings: &Settings,
    change: &BuiltChange,
    intent: &str,
) -> Result<(), Fault> {
    let asked = [
        change.leave_out.is_some(),
        change.move_end.is_some(),
        change.change.is_some(),
        change.add_cable.is_some(),
        change.add_fuse.is_some(),
        change.add_device.is_some(),
    ];
    if asked.iter().filter(|is| **is).count() != 1 {
        return Err((
            "a built change says exactly one of leave_out, move_end, change, add_cable, add_fuse, add_device"
                .to_owned(),
            "Write one `[[built]]` table for each change".to_owned(),
        ));
    }
    if let Some(id) = &change.leave_out {
        return leave_out(builder, id, intent);
    }
    if let Some(id) = &change.move_end {
        return move_end(builder, change, id, intent);
    }
    if let Some(id) = &change.change {
        return change_values(builder, settings, change, id, intent);
    }
    if let Some(name) = &change.add_cable {
        return add_cable(builder, settings, change, name, intent);
    }
    if let Some(id) = &change.add_fuse {
        return add_fuse(builder, settings, change, id, intent);
    }
    match &change.add_device {
        Some(name) => add_device(builder, settings, change, name, intent),
        None => Ok(()),
    }
}

fn unknown(builder: &Builder<'_>, id: &str) -> Fault {
    let known = builder
        .devices
        .iter()
        .map(|device| device.id.as_str())
        .chain(builder.conductors.iter().map(|conductor| conductor.id.as_str()));
    let mend = model::read::nearest(id, known).map_or_else(
        || "List the names with `wattwain why`".to_owned(),
        |near| format!("Did you mean `{near}`?"),
    );
    (format!("there is no device or conductor `{id}`"), mend)
}

fn conductor_ix(builder: &Builder<'_>, id: &str) -> Result<usize, Fault> {
    builder.conductors.iter().position(|conductor| conductor.id == id).ok_or_else(|| unknown(builder, id))
}

fn terminal_at(builder: &Builder<'_>, name: &str) -> Result<TerminalRef, Fault> {
    let found = name.rsplit_once('.').and_then(|(device, terminal)| {
        let device = builder.find(device)?;
        let terminal = builder.devices[device].terminals.iter().position(|t| t.name == terminal)?;
        Some(TerminalRef { device, terminal })
    });
    found.ok_or_else(|| {
        let near = name.rsplit_once('.').and_then(|(device, _)| {
            let device = builder.find(device)?;
            let names: Vec<&str> =
                builder.devices[device].terminals.iter().map(|t| t.name.as_str()).collect();
            Some(format!("Its terminals: {}", names.join(", ")))
        });
        (
            format!("there is no terminal `{name}`"),
            near.unwrap_or_else(|| "Write device and terminal, such as `inverter.positive`".to_owned()),
        )
    })
}

/// Leaves out a conductor, or a device whose two sides are then joined.
fn leave_out(builder: &mut Builder<'_>, id: &str, intent: &str) -> Result<(), Fault> {
    if let Some(ix) = builder.conductors.iter().position(|conductor| conductor.id == id) {
        builder.conductors.remove(ix);
        return Ok(());
    }
    let device = builder.find(id).ok_or_else(|| unknown(builder, id))?;
    let pairs: Vec<(&str, &str)> = match &builder.devices[device].spec {
        Spec::Fuse(_) => vec![("in", "out")],
        Spec::Breaker(_) | Spec::Disconnect(_) => {
            vec![("in", "out"), ("in-neutral", "out-neutral"), ("in-negative", "out-negative")]
        }
        Spec::Shunt(_) => vec![("bank", "system")],
        _ => {
            return Err((
                format!("`{id}` is not a device that can be left out with its two sides joined"),
                "Leave out a fuse, breaker, disconnect or shunt here; take a load or source away in its own table".to_owned(),
            ));
        }
    };
    for (a, b) in pairs {
        let find = |name: &str| builder.devices[device].terminals.iter().position(|t| t.name == name);
        let (Some(a), Some(b)) = (find(a), find(b)) else { continue };
        join(builder, TerminalRef { device, terminal: a }, TerminalRef { device, terminal: b }, intent);
    }
    remove_device(builder, device);
    Ok(())
}

/// Joins what ends at two terminals of a device that goes: at the far end of the link inside the assembly where there is one.
fn join(builder: &mut Builder<'_>, a: TerminalRef, b: TerminalRef, intent: &str) {
    let ends_at = |conductor: &Conductor, at: TerminalRef| conductor.from == at || conductor.to == at;
    for (near, far) in [(a, b), (b, a)] {
        // The link inside an assembly, or the short conductor to the holder, goes with the device.
        let is_short = |conductor: &Conductor| conductor.is_internal || conductor.length <= jumper_length();
        let links: Vec<usize> = (0..builder.conductors.len())
            .filter(|ix| ends_at(&builder.conductors[*ix], near))
            .filter(|ix| is_short(&builder.conductors[*ix]))
            .collect();
        if let [link] = links.as_slice() {
            let conductor = builder.conductors.remove(*link);
            let other = if conductor.from == near { conductor.to } else { conductor.from };
            reattach(builder, near, other, intent);
            reattach(builder, far, other, intent);
            return;
        }
    }
    // Cable on both sides: they are joined end to end in a joint.
    let pole = builder.devices[a.device].terminals[a.terminal].pole;
    let zone = builder.devices[a.device].zone;
    let id = format!(
        "{}.joint-{}",
        builder.devices[a.device].id, builder.devices[a.device].terminals[a.terminal].name
    );
    let joint = builder.device(
        &id,
        "Joint",
        Spec::Busbar(model::parts::Busbar {
            title: "Joint of two lugs".to_owned(),
            price: Vec::new(),
            mass: quantity::Kilograms::zero(),
            size: Vec::new(),
            note: None,
            footprint: None,
            current: Amps::new(1000.0),
            voltage: quantity::Volts::new(60.0),
            studs: 1,
            stud: model::parts::Stud::M10,
            screws: None,
        }),
        vec![terminal("bar", pole, Some(model::parts::Stud::M10), None)],
        zone,
        intent,
    );
    let at = builder.at(joint, "bar");
    reattach(builder, a, at, intent);
    reattach(builder, b, at, intent);
}

fn reattach(builder: &mut Builder<'_>, old: TerminalRef, new: TerminalRef, intent: &str) {
    for conductor in &mut builder.conductors {
        let mut is_moved = false;
        if conductor.from == old {
            conductor.from = new;
            is_moved = true;
        }
        if conductor.to == old {
            conductor.to = new;
            is_moved = true;
        }
        if is_moved {
            conductor.intent = intent.to_owned();
        }
    }
}

fn remove_device(builder: &mut Builder<'_>, device: DeviceIx) {
    builder.remove(device);
    let shift = |ix: &mut DeviceIx| {
        if *ix > device {
            *ix -= 1;
        }
    };
    for conductor in &mut builder.conductors {
        shift(&mut conductor.from.device);
        shift(&mut conductor.to.device);
    }
    for circuit in &mut builder.circuits {
        circuit.protection.retain(|protection| *protection != device);
        circuit.serves.retain(|served| *served != device);
        circuit.protection.iter_mut().for_each(shift);
        circuit.serves.iter_mut().for_each(shift);
    }
    for device in &mut builder.devices {
        match &mut device.spec {
            Spec::Fuse(Fuse { panel: Some(panel), .. }) => shift(panel),
            Spec::Breaker(breaker) => breaker.panel.iter_mut().for_each(shift),
            _ => {}
        }
    }
}

fn move_end(builder: &mut Builder<'_>, change: &BuiltChange, id: &str, intent: &str) -> Result<(), Fault> {
    let ix = conductor_ix(builder, id)?;
    let (Some(from), Some(to)) = (&change.from, &change.to) else {
        return Err((
            "a moved end needs `from` (the terminal it ends at now) and `to`".to_owned(),
            "Add both, such as from = \"negative-bar.bar\", to = \"chassis.bond\"".to_owned(),
        ));
    };
    let (old, new) = (terminal_at(builder, from)?, terminal_at(builder, to)?);
    let names = (
        builder.terminal_name(builder.conductors[ix].from),
        builder.terminal_name(builder.conductors[ix].to),
    );
    let conductor = &mut builder.conductors[ix];
    if conductor.from == old {
        conductor.from = new;
    } else if conductor.to == old {
        conductor.to = new;
    } else {
        return Err((
            format!("`{id}` does not end at `{from}`"),
            format!("It ends at `{}` and `{}`", names.0, names.1),
        ));
    }
    conductor.intent = intent.to_owned();
    Ok(())
}

fn change_values(
    builder: &mut Builder<'_>,
    settings: &Settings,
    change: &BuiltChange,
    id: &str,
    intent: &str,
) -> Result<(), Fault> {
    if let Ok(ix) = conductor_ix(builder, id) {
        let zone = change.zone.as_ref().map(|_| builder.zone(&change.zone));
        let conductor = &mut builder.conductors[ix];
        if let Some(gauge) = change.gauge {
            conductor.gauge = gauge;
        }
        if let Some(length) = change.length {
            conductor.length = length;
        }
        if let Some(insulation) = change.insulation {
            conductor.insulation = insulation;
        }
        if let Some(is_sheathed) = change.sheathed {
            conductor.sheathed = is_sheathed;
        }
        if let Some(zone) = zone {
            conductor.zone = zone;
        }
        conductor.intent = intent.to_owned();
        let (gauge, cores, insulation) = (conductor.gauge, conductor.cores, conductor.insulation);
        conductor.cable =
            crate::choose::cable(&builder.project.library, gauge, cores, insulation, false, settings.voltage);
        note(builder, id, change, intent);
        return Ok(());
    }
    let device = builder.find(id).ok_or_else(|| unknown(builder, id))?;
    let highest = settings.voltage_charging;
    let reference = builder.reference;
    let part = &mut builder.devices[device];
    let mut is_taken = false;
    match &mut part.spec {
        Spec::Fuse(fuse) => {
            if let Some(rating) = change.rating {
                fuse.rating = rating;
                is_taken = true;
            }
            if let Some(family) = &change.family {
                let Some(found) = reference.fuse_family(family.as_str()) else {
                    return Err((
                        format!("there is no fuse family `{family}`"),
                        "List the families with `wattwain sources`".to_owned(),
                    ));
                };
                fuse.family = family.to_string();
                fuse.interrupt = found.interrupts(highest, false).unwrap_or(Amps::zero());
                is_taken = true;
            }
            if let Some(distance) = change.distance {
                fuse.distance = distance;
                is_taken = true;
            }
        }
        Spec::Breaker(breaker) => {
            if let Some(rating) = change.rating {
                breaker.part.current = rating;
                is_taken = true;
            }
            if let Some(distance) = change.distance {
                breaker.distance = distance;
                is_taken = true;
            }
        }
        Spec::Inverter(inverter, setting) => {
            if let Some(bond) = change.neutral_bond {
                inverter.neutral_bond = bond;
                is_taken = true;
            }
            if let (Some(absorption), Some(setting)) = (change.absorption, setting.as_mut()) {
                setting.absorption = absorption;
                is_taken = true;
            }
        }
        Spec::Generator(generator) => {
            if let Some(bond) = change.neutral_bond {
                generator.neutral_bond = bond;
                is_taken = true;
            }
        }
        Spec::Controller(_, setting) | Spec::Charger(_, setting) | Spec::DcDc(_, setting) => {
            if let Some(absorption) = change.absorption {
                setting.absorption = absorption;
                is_taken = true;
            }
        }
        _ => {}
    }
    if !is_taken {
        return Err((
            format!("nothing of `{id}` is changed by this"),
            "Give a value that such a device has: rating, family or distance of a fuse, absorption of a charger, neutral_bond of an AC source".to_owned(),
        ));
    }
    part.intent = intent.to_owned();
    if let Some(distance) = change.distance {
        // The conductor from its source is as long as the fuse stands away.
        let inside = TerminalRef { device, terminal: 0 };
        for conductor in &mut builder.conductors {
            if !conductor.is_internal && (conductor.from == inside || conductor.to == inside) {
                conductor.length = distance;
                conductor.intent = intent.to_owned();
            }
        }
    }
    note(builder, id, change, intent);
    Ok(())
}

fn note(builder: &mut Builder<'_>, id: &str, change: &BuiltChange, intent: &str) {
    builder.because(
        format!("{id}.built"),
        Inputs::new()
            .with(
                "built change",
                change.note.clone().unwrap_or_else(|| "as built".to_owned()),
                Origin::Intent(intent.to_owned()),
            )
            .because("as built", "the person says that it is built so"),
    );
}

fn add_cable(
    builder: &mut Builder<'_>,
    settings: &Settings,
    change: &BuiltChange,
    name: &Name,
    intent: &str,
) -> Result<(), Fault> {
    let (Some(from), Some(to), Some(gauge), Some(length)) =
        (&change.from, &change.to, change.gauge, change.length)
    else {
        return Err((
            "an added cable needs from, to, gauge and length".to_owned(),
            "Add the missing ones, such as gauge = \"6 AWG\", length = \"1.2 m\"".to_owned(),
        ));
    };
    if builder.conductors.iter().any(|conductor| conductor.id == name.as_str()) {
        return Err((format!("there is a conductor `{name}` already"), "Choose another name".to_owned()));
    }
    let ends = (terminal_at(builder, from)?, terminal_at(builder, to)?);
    let pole = builder.devices[ends.0.device].terminals[ends.0.terminal].pole;
    let circuit = builder.circuit(Circuit {
        id: name.to_string(),
        title: crate::loads::sentence(name.as_str()),
        kind: if pole == Pole::Earth { CircuitKind::Bond } else { CircuitKind::Branch },
        supply: if pole.is_ac() { Supply::Ac } else { Supply::Dc },
        voltage: if pole.is_ac() { settings.ac_voltage } else { settings.voltage },
        voltage_lowest: if pole.is_ac() { settings.ac_voltage } else { settings.voltage_low },
        current_steady: Amps::zero(),
        current_surge: Amps::zero(),
        continuous: false,
        critical: false,
        drop_limit: Fraction::new(0.1),
        protection_least: Amps::zero(),
        protection: Vec::new(),
        serves: Vec::new(),
        intent: intent.to_owned(),
    });
    let insulation = change.insulation.unwrap_or(settings.insulation);
    let cable = crate::choose::cable(&builder.project.library, gauge, 1, insulation, false, settings.voltage);
    let zone = change.zone.as_ref().map_or(settings.board_zone, |_| builder.zone(&change.zone));
    builder.push_conductor(
        name.to_string(),
        ends,
        pole,
        (gauge, insulation, settings.tinned),
        (length, zone, 1, change.sheathed.unwrap_or(false), 1),
        circuit,
        cable,
        intent,
    );
    builder.because(
        format!("{name}.gauge"),
        Inputs::new()
            .with("built change", gauge.show(), Origin::Intent(format!("{intent}.gauge")))
            .because(gauge.show(), "the person says that it is built so"),
    );
    Ok(())
}

fn add_fuse(
    builder: &mut Builder<'_>,
    settings: &Settings,
    change: &BuiltChange,
    id: &str,
    intent: &str,
) -> Result<(), Fault> {
    let ix = conductor_ix(builder, id)?;
    let (Some(rating), Some(family)) = (change.rating, &change.family) else {
        return Err((
            "an added fuse needs rating and family".to_owned(),
            "Add them, such as rating = \"60 A\", family = \"bolt-in-strip\"".to_owned(),
        ));
    };
    let Some(found) = builder.reference.fuse_family(family.as_str()) else {
        return Err((
            format!("there is no fuse family `{family}`"),
            "List the families with `wattwain sources`".to_owned(),
        ));
    };
    let fuse = Fuse {
        family: family.to_string(),
        rating,
        voltage: settings.voltage,
        interrupt: found.interrupts(settings.voltage_charging, false).unwrap_or(Amps::zero()),
        holder_largest: rating,
        distance: change.distance.unwrap_or(Metres::zero()),
        panel: None,
    };
    let (from, pole, gauge, circuit, zone) = {
        let conductor = &builder.conductors[ix];
        (conductor.from, conductor.pole, conductor.gauge, conductor.circuit, conductor.zone)
    };
    let name = format!("{id}.added-fuse");
    let device = builder.device(
        &name,
        "Added fuse",
        Spec::Fuse(fuse),
        vec![terminal("in", pole, None, None), terminal("out", pole, None, None)],
        zone,
        intent,
    );
    let (inside, outside) = (builder.at(device, "in"), builder.at(device, "out"));
    builder.link(&format!("{name}.link"), from, inside, pole, gauge, circuit);
    builder.conductors[ix].from = outside;
    builder.circuits[circuit].protection.push(device);
    Ok(())
}

fn add_device(
    builder: &mut Builder<'_>,
    settings: &Settings,
    change: &BuiltChange,
    name: &Name,
    intent: &str,
) -> Result<(), Fault> {
    let project = builder.project;
    if builder.find(name.as_str()).is_some() {
        return Err((format!("there is a device `{name}` already"), "Choose another name".to_owned()));
    }
    let library = &project.library;
    let kind = change.kind.as_deref().unwrap_or("");
    let part = change.part.as_ref();
    let no_part = |kind: &str| {
        (
            format!("`{name}`: there is no {kind} part `{}`", part.map_or("", |part| part.as_str())),
            "Name a part of that kind; `wattwain parts` lists them".to_owned(),
        )
    };
    let zone = change.zone.as_ref().map_or(settings.board_zone, |_| builder.zone(&change.zone));
    let title = crate::loads::sentence(name.as_str());
    match kind {
        "busbar" | "negative-busbar" => {
            let (id, bar) =
                part.and_then(|part| library.busbar.get_key_value(part)).ok_or_else(|| no_part("busbar"))?;
            let pole = if kind == "busbar" { Pole::Positive } else { Pole::Negative };
            let spec = Spec::Busbar(bar.clone());
            let device = builder.device(
                name.as_str(),
                &title,
                spec,
                vec![feeding("bar", pole, Some(bar.stud), None)],
                zone,
                intent,
            );
            builder.is_part(device, "busbar", id, bar);
        }
        "disconnect" => {
            let (id, switch) = part
                .and_then(|part| library.disconnect.get_key_value(part))
                .ok_or_else(|| no_part("disconnect"))?;
            let ends = |terminal_name: &str| {
                terminal(terminal_name, Pole::Positive, switch.stud, Some(switch.max_gauge))
            };
            let device = builder.device(
                name.as_str(),
                &title,
                Spec::Disconnect(switch.clone()),
                vec![ends("in"), ends("out")],
                zone,
                intent,
            );
            builder.is_part(device, "disconnect", id, switch);
        }
        "battery" => {
            let (id, battery): (&Name, &Battery) = part
                .and_then(|part| library.battery.get_key_value(part))
                .ok_or_else(|| no_part("battery"))?;
            let short = battery.short_circuit.unwrap_or(battery.float / battery.internal_resistance);
            let at = BatteryAt {
                part: battery.clone(),
                string: 0,
                place: 0,
                short_circuit: short,
                short_circuit_is_stated: battery.short_circuit.is_some(),
            };
            let ends = vec![
                feeding("positive", Pole::Positive, Some(battery.stud), None),
                feeding("negative", Pole::Negative, Some(battery.stud), None),
            ];
            let device = builder.device(name.as_str(), &title, Spec::Battery(at), ends, zone, intent);
            builder.is_part(device, "battery", id, battery);
        }
        other => {
            return Err((
                format!("`{other}` is not a kind of device that can be added"),
                "Kinds: busbar, negative-busbar, disconnect, battery; fuses go in with add_fuse, loads in their own table".to_owned(),
            ));
        }
    }
    Ok(())
}

impl Builder<'_> {
    fn terminal_name(&self, at: TerminalRef) -> String {
        let device = &self.devices[at.device];
        format!("{}.{}", device.id, device.terminals[at.terminal].name)
    }
}
