//! Cards for the inside of a panel's door: each slot with its circuit, fuse, wire and what goes dark; what to open in an emergency.
//! Never: shrinks print; a panel with more slots gets another card.
//! Start at [`cards`].

use model::{CircuitKind, DeviceIx, Spec, System};

use crate::plate::{ACCENT, Layer, Look, Plate, Words, ink};
use crate::scene::{Rect, at};
use crate::sheet::SAFETY;
use crate::text::{self, LINE, whole, wrap};

/// A card: ISO 216, landscape \[mm\]; rows that it holds, and widths of its columns: slot, circuit, fuse, wire, what goes dark.
struct Form {
    width: f64,
    height: f64,
    columns: [f64; 5],
}

const A5: Form = Form { width: 210.0, height: 148.0, columns: [11.0, 55.0, 34.0, 22.0, 76.0] };
const A6: Form = Form { width: 148.0, height: 105.0, columns: [9.0, 41.0, 29.0, 17.0, 42.0] };
/// Edge of the card to its print \[mm\].
const EDGE: f64 = 6.0;
/// Least height of a row, one of two lines \[mm\].
const ROW: f64 = 7.4;
/// Above and below the lines of a row together \[mm\].
const AIR: f64 = 1.1;
/// Size of print \[mm\].
const PRINT: f64 = 2.5;
/// From the upper edge to the first row \[mm\].
const HEAD: f64 = 19.5;

/// A way of a panel.
struct Slot {
    number: usize,
    cells: [String; 4],
    device: Option<DeviceIx>,
}

/// The cards, panel by panel.
pub fn cards(system: &System) -> Vec<Plate> {
    let steps = emergency(system);
    let mut cards = Vec::new();
    for (ix, panel) in system.devices.iter().enumerate() {
        let ways = match &panel.spec {
            Spec::FusePanel(part) => part.ways,
            Spec::AcPanel(part) => part.ways,
            _ => continue,
        };
        let slots = slots(system, ix, ways as usize);
        let small = split(&slots, &A6, steps.len());
        let (form, chunks) =
            if small.len() <= 1 { (&A6, small) } else { (&A5, split(&slots, &A5, steps.len())) };
        let count = chunks.len().max(1);
        for (page, some) in chunks.into_iter().enumerate() {
            let title = if count > 1 {
                format!("{}, card {} of {count}", panel.title, page + 1)
            } else {
                panel.title.clone()
            };
            cards.push(card(system, form, &title, &panel.id, some, &steps));
        }
    }
    cards
}

fn foot(steps: usize) -> f64 {
    // Emergency head, steps, two to three lines of safety words.
    6.0 + 3.6 * steps as f64 + 13.0
}

/// Room for rows on a card \[mm\].
fn room(form: &Form, steps: usize) -> f64 {
    (form.height - EDGE - HEAD - foot(steps)).max(ROW)
}

/// The lines of a cell, whole, unless a whole card could not hold them.
fn lines(cell: &str, is_bold: bool, wide: f64, room: f64) -> Vec<String> {
    let all = whole(cell, PRINT, is_bold, wide - 1.6);
    let most = ((room - AIR) / (PRINT * LINE)).floor().max(1.0) as usize;
    if all.len() > most { wrap(cell, PRINT, is_bold, wide - 1.6, most) } else { all }
}

/// Height of a row: as its highest cell needs.
fn row_height(slot: &Slot, form: &Form, room: f64) -> f64 {
    let cells = slot.cells.iter().zip(form.columns.iter().skip(1));
    let most = cells.map(|(cell, wide)| lines(cell, false, *wide, room).len()).max().unwrap_or(1);
    (most as f64 * PRINT * LINE + AIR).max(ROW)
}

/// The slots card by card, as many on each as it holds.
fn split<'a>(slots: &'a [Slot], form: &Form, steps: usize) -> Vec<&'a [Slot]> {
    let room = room(form, steps);
    let mut cards = Vec::new();
    let (mut first, mut used) = (0, 0.0);
    for (ix, slot) in slots.iter().enumerate() {
        let high = row_height(slot, form, room);
        if ix > first && used + high > room {
            cards.extend(slots.get(first..ix));
            (first, used) = (ix, 0.0);
        }
        used += high;
    }
    cards.extend(slots.get(first..).filter(|rest| !rest.is_empty()));
    cards
}

/// The ways in use in the order of the system, then those that are free.
fn slots(system: &System, panel: DeviceIx, ways: usize) -> Vec<Slot> {
    let mut slots: Vec<Slot> = Vec::new();
    for (ix, device) in system.devices.iter().enumerate() {
        let of = match &device.spec {
            Spec::Fuse(fuse) => fuse.panel,
            Spec::Breaker(breaker) => breaker.panel,
            _ => None,
        };
        if of != Some(panel) {
            continue;
        }
        let circuits: Vec<usize> = system
            .circuits
            .iter()
            .enumerate()
            .filter(|(_, circuit)| circuit.protection.contains(&ix))
            .map(|(at, _)| at)
            .collect();
        let titles: Vec<&str> = circuits.iter().map(|at| system.circuits[*at].title.as_str()).collect();
        let mut dark: Vec<&str> = Vec::new();
        let mut is_critical = false;
        for circuit in circuits.iter().map(|at| &system.circuits[*at]) {
            // Of the load: a circuit is held to the strict limit for other reasons too, as all alternating current is.
            is_critical |= circuit
                .serves
                .iter()
                .filter_map(|served| system.devices.get(*served))
                .any(|device| matches!(&device.spec, Spec::Load(load) if load.critical));
            for served in &circuit.serves {
                if let Some(device) =
                    system.devices.get(*served).filter(|device| !dark.contains(&device.title.as_str()))
                {
                    dark.push(&device.title);
                }
            }
        }
        let wire = system
            .conductors
            .iter()
            .find(|conductor| {
                circuits.contains(&conductor.circuit)
                    && !conductor.is_internal
                    && conductor.pole.is_ungrounded()
            })
            .map_or_else(String::new, |conductor| conductor.gauge.brief());
        let mut dark = dark.join(", ");
        if is_critical {
            dark.push_str(" (safety: put it back first)");
        }
        slots.push(Slot {
            number: slots.len() + 1,
            cells: [titles.join(", "), crate::words::rating(device).join(", "), wire, dark],
            device: Some(ix),
        });
    }
    while slots.len() < ways {
        let free = ["free", "", "", ""].map(str::to_owned);
        slots.push(Slot { number: slots.len() + 1, cells: free, device: None });
    }
    slots
}

/// What to do in an emergency: what feeds from outside first, the bank last. Common practice, no source.
fn emergency(system: &System) -> Vec<String> {
    let mut steps: Vec<String> = Vec::new();
    let all = || system.devices.iter().enumerate();
    for (_, device) in all() {
        match device.spec {
            Spec::Inlet(_) => steps.push(format!("Pull the plug: {}", device.title)),
            Spec::Generator(_) => steps.push(format!("Stop: {}", device.title)),
            _ => {}
        }
    }
    if system.devices.iter().any(|device| matches!(device.spec, Spec::Alternator(_) | Spec::StartBattery(_)))
    {
        steps.push("Stop the engine".to_owned());
    }
    let kind_of = |ix: DeviceIx| {
        let own = system
            .conductors
            .iter()
            .filter(|conductor| conductor.from.device == ix || conductor.to.device == ix);
        own.filter_map(|conductor| system.circuits.get(conductor.circuit)).map(|circuit| circuit.kind).min()
    };
    let place =
        |zone: usize| system.zones.get(zone).map_or_else(String::new, |zone| format!(" ({})", zone.id));
    let mut disconnects: Vec<(bool, String)> = all()
        .filter(|(_, device)| matches!(device.spec, Spec::Disconnect(_)))
        .map(|(ix, device)| {
            let is_bank = matches!(kind_of(ix), Some(CircuitKind::BankLink | CircuitKind::Main));
            (is_bank, format!("Open: {}{}", device.title, place(device.zone)))
        })
        .collect();
    disconnects.sort_by_key(|disconnect| disconnect.0);
    steps.extend(disconnects.into_iter().map(|(_, step)| step));
    steps
}

fn card(system: &System, form: &Form, title: &str, id: &str, slots: &[Slot], steps: &[String]) -> Plate {
    let mut plate = Plate::new(format!("Door card of {title}"), form.width, form.height);
    let inner = form.width - 2.0 * EDGE;
    let room = room(form, steps.len());
    plate.of = Some(("data-panel", id.to_owned()));
    plate.rect(Layer::Outline, Rect { x: 2.0, y: 2.0, w: form.width - 4.0, h: form.height - 4.0 }, ink(0.5));
    // A long title is set smaller before it is cut.
    let size = [4.6, 3.6, 3.0, 2.6]
        .into_iter()
        .find(|size| text::width(title, *size, true) <= inner * 0.62)
        .unwrap_or(2.6);
    let head: Vec<Words> = wrap(title, size, true, inner * 0.62, 1)
        .into_iter()
        .map(|line| Words::new(line, size).bold())
        .collect();
    plate.lines(Layer::Text, EDGE, 4.6, head);
    let voltage = system.devices.iter().find(|device| device.id == id).map(|device| match &device.spec {
        Spec::AcPanel(_) => system.ac_voltage.map_or_else(String::new, |voltage| format!("{voltage} AC")),
        _ => system
            .circuits
            .iter()
            .find(|circuit| {
                circuit.serves.iter().any(|served| system.devices.get(*served).is_some_and(|d| d.id == id))
            })
            .map_or_else(|| format!("{} DC", system.voltage), |circuit| format!("{} DC", circuit.voltage)),
    });
    let right = format!("{}, {}", system.name, voltage.unwrap_or_default());
    let right = wrap(&right, 3.0, false, inner * 0.36, 1).join("");
    plate.words(Layer::Text, Words::new(right, 3.0).end(EDGE + inner, 7.6));
    let cells = |plate: &mut Plate, top: f64, high: f64, cells: [&str; 5], is_bold: bool| {
        let mut x = EDGE;
        for (ix, (cell, wide)) in cells.into_iter().zip(form.columns).enumerate() {
            let is_strong = is_bold || ix == 0;
            let lines = lines(cell, is_strong, wide, room);
            let step = PRINT * LINE;
            let first = top + high / 2.0 - step * (lines.len() as f64 - 1.0) / 2.0;
            for (at_line, line) in lines.into_iter().enumerate() {
                let words = Words { is_bold: is_strong, ..Words::new(line, PRINT) };
                plate.words(Layer::Text, words.start(x + 0.8, first + step * at_line as f64));
            }
            x += wide;
        }
    };
    plate.line(Layer::Sheet, at(EDGE, HEAD - 7.4), at(EDGE + inner, HEAD - 7.4), ink(0.5));
    cells(
        &mut plate,
        HEAD - 7.2,
        7.0,
        ["Slot", "Circuit", "Fuse or breaker", "Wire", "Goes dark when it is out"],
        true,
    );
    plate.line(Layer::Sheet, at(EDGE, HEAD), at(EDGE + inner, HEAD), ink(0.5));
    let mut foot_at = HEAD;
    for slot in slots {
        let (top, high) = (foot_at, row_height(slot, form, room));
        foot_at += high;
        let id = slot
            .device
            .and_then(|ix| system.devices.get(ix))
            .map(|device| ("data-device", device.id.clone()));
        plate.of = id.or_else(|| Some(("data-slot", slot.number.to_string())));
        let number = slot.number.to_string();
        let [a, b, c, d] = &slot.cells;
        cells(&mut plate, top, high, [&number, a, b, c, d], false);
        plate.line(Layer::Sheet, at(EDGE, foot_at), at(EDGE + inner, foot_at), ink(0.15));
    }
    plate.of = Some(("data-panel", id.to_owned()));
    let mut x = EDGE;
    for wide in form.columns.iter().take(4) {
        x += wide;
        plate.line(Layer::Sheet, at(x, HEAD - 7.4), at(x, foot_at), ink(0.15));
    }
    let top = form.height - EDGE - foot(steps.len()) + 3.0;
    let accent = Look { stroke: ACCENT, width: 0.7, dash: "", fill: "" };
    plate.line(Layer::Sheet, at(EDGE, top), at(EDGE + inner, top), accent);
    let mut lines = vec![Words::new("In an emergency, in this order", 2.8).bold().accent()];
    for (ix, step) in steps.iter().enumerate() {
        let step = wrap(step, PRINT + 0.2, true, inner - 8.0, 1).join("");
        lines.push(Words::new(format!("{}  {step}", ix + 1), PRINT + 0.2).bold());
    }
    lines.push(Words::new("Replace a fuse only by one of the same type and rating.", PRINT));
    lines.extend(wrap(SAFETY, 2.3, false, inner, 3).into_iter().map(|line| Words::new(line, 2.3)));
    plate.lines(Layer::Text, EDGE, top + 0.8, lines);
    plate.of = None;
    plate
}
