//! What may be wrong where the network cannot tell: a battery at rest, an array, a setting, insulation, the AC side.
//! Never: looks at more than the reading and its kin.
//! Start at [`causes`].

use model::{Spec, System};
use quantity::Fraction;
use reference::Reference;

use crate::expected::{Expected, Kind};
use crate::judge::{Cause, Status};
use crate::live::cells;
use crate::readings::Readings;
use crate::sources::array_range;

fn cause(title: impl Into<String>, tell: impl Into<String>) -> Cause {
    Cause {
        title: title.into(),
        kind: "",
        places: Vec::new(),
        share: None,
        explains: Vec::new(),
        tell: tell.into(),
        next: None,
        heat: None,
    }
}

/// Likely causes, the likeliest first.
pub(crate) fn causes(
    expected: &Expected,
    value: f64,
    status: Status,
    system: &System,
    readings: &Readings,
) -> Vec<Cause> {
    let is_low = status == Status::Low;
    let mut causes = match expected.kind {
        Kind::Rest => rest(expected, value, is_low, system, readings),
        Kind::Array => array(expected, value, is_low, system),
        Kind::Setting => setting(expected, value, system),
        Kind::Insulation => vec![
            cause(
                "a load, meter or charger is still joined between the two sides",
                "Take out every fuse and unplug again; the value rises with the one that was left",
            ),
            cause(
                "a cable is pinched or its insulation cut",
                "Put the fuses back one at a time: the circuit with which it falls is the one; look where it passes metal",
            ),
            cause("damp in a joint or inlet", "Dry it and measure again"),
        ],
        Kind::Continuity | Kind::Earth => vec![
            cause(
                format!("a lug of {} is not crimped or not screwed home", expected.conductors.join(", ")),
                "Pull at each lug while reading; look for strands that moved. Measure lug barrel to copper on both ends",
            ),
            cause(
                "paint, oxide or a washer under the lug",
                "Measure from the stud, then from the lug: the difference is the contact",
            ),
            cause("the probe is on another cable's end", "Beep both ends against the label sheet"),
        ],
        Kind::AcVolts if is_low && value.abs() < 5.0 => vec![
            cause(
                "a breaker or the residual-current device is off, or the inverter is in search mode",
                "Switch on a lamp and read again; then read at the AC panel",
            ),
            cause("line or neutral is open on the way", "Dead and unplugged, measure each core end to end"),
        ],
        Kind::AcVolts => vec![
            cause(
                "the meter does not read true RMS, or the inverter's wave is not a sine",
                "Read shore power with the same meter",
            ),
            cause(
                "the neutral is loose, so that the voltage follows the load",
                "Switch a heater on and off: the reading must move by less than 5 %",
            ),
            cause("the inverter is set to another voltage", "Read its setting"),
        ],
        Kind::ResidualButton => vec![
            cause(
                "line and neutral are on the wrong side of it, or the neutral passes beside it",
                "Dead and unplugged: both poles must enter at `in` and leave at `out`",
            ),
            cause("the device is broken", "Exchange it; never go on without one"),
        ],
        Kind::ResidualTime => vec![
            cause(
                "it is a delayed type, made to trip after others",
                "Read its marking: S stands for selective, not for outlets",
            ),
            cause(
                "the device is worn or sticks",
                "Press the button ten times and measure again; exchange it if that helped",
            ),
            cause(
                "neutral and earth are joined behind it, so that part of the test current passes it",
                "Measure neutral to earth behind it, dead: over range is good",
            ),
        ],
        Kind::NeutralBond if value > 0.5 => vec![
            cause(
                "neutral and earth are joined twice: on board as well as at the source",
                "Lift the bond in the inverter or panel, dead; what stays joined is the second one",
            ),
            cause("a load has its neutral on its earth", "Unplug the loads one at a time"),
        ],
        Kind::NeutralBond => vec![cause(
            "the bond of the source is missing or switched off in its settings",
            "Read the inverter's sheet for its bond; a residual-current device cannot trip without one",
        )],
        Kind::Volts | Kind::Drop | Kind::Amps => Vec::new(),
    };
    for cause in &mut causes {
        cause.explains = vec![expected.id.clone()];
        if cause.places.is_empty() {
            cause.places = expected.devices.iter().chain(&expected.conductors).cloned().collect();
        }
        if cause.kind.is_empty() {
            cause.kind = "by-kind";
        }
    }
    causes
}

fn rest(expected: &Expected, value: f64, is_low: bool, system: &System, readings: &Readings) -> Vec<Cause> {
    let Some(bank) = &system.bank else { return Vec::new() };
    let battery = expected.about.and_then(|ix| system.devices.get(ix));
    let first = bank.batteries.first().and_then(|ix| system.devices.get(*ix));
    let Some(Spec::Battery(part)) = battery.or(first).map(|device| &device.spec) else { return Vec::new() };
    let series = if battery.is_some() { 1.0 } else { f64::from(bank.series.max(1)) };
    let count = cells(bank.chemistry, part.part.voltage) * series;
    let typical = expected.typical.number();
    let cell = typical / count;
    if value.abs() < 0.5 {
        return vec![
            cause(
                "the battery's own electronics have switched off, or a fuse or disconnect in it is open",
                "Wake it with a charger as its sheet says, then read again",
            ),
            cause("the probe is not on the post", "Read post to post, not lug to lug"),
        ];
    }
    let mut causes = Vec::new();
    // One cell, or one battery of a string, that gives nothing.
    let missing = ((typical - value) / cell).round();
    if is_low && bank.series > 1 && battery.is_none() {
        let one = typical / f64::from(bank.series);
        if ((typical - value) / one - 1.0).abs() < 0.15 {
            causes.push(cause(
                "one battery of the string is left out or turned round",
                "Read each battery alone, then each link",
            ));
        }
    }
    if is_low && missing >= 1.0 && ((typical - value) - missing * cell).abs() < 0.35 * cell && missing < count
    {
        causes.push(cause(
            format!("{missing:.0} of {count:.0} cells is shorted or empty"),
            "Charge it full and let it rest: a shorted cell stays one cell's voltage below the others",
        ));
    }
    if is_low {
        let soc = charge_at(bank.chemistry.word(), value / count);
        causes.push(cause(
            format!("the bank is nearly empty: about {:.0} % by its rest voltage", soc * 100.0),
            "Charge it full, rest it and read again: if it stays low it is worn",
        ));
        causes.push(cause(
            "it was still under load, or not yet rested",
            "Open the main disconnect, wait and read again",
        ));
    } else {
        causes.push(cause(
            "it was charged within the last hours",
            "Let it rest, or run a load for ten minutes, and read again",
        ));
        causes.push(cause("it is another chemistry or has more cells than planned", "Read its label"));
    }
    let others: Vec<f64> = bank
        .batteries
        .iter()
        .filter_map(|ix| system.devices.get(*ix))
        .filter_map(|device| readings.value(&format!("rest:{}", device.id)))
        .map(|value| value.number())
        .collect();
    if battery.is_some() && others.len() > 1 {
        let mean = others.iter().sum::<f64>() / others.len() as f64;
        causes.push(cause(
            format!("it stands {:+.2} V against the mean of the {} batteries", value - mean, others.len()),
            "Charge each alone to full before joining them: batteries that differ drive a large current into each other",
        ));
    }
    causes
}

/// State of charge at which the typical curve has this cell voltage.
fn charge_at(chemistry: &str, cell_v: f64) -> f64 {
    let below = |percent: &u32| {
        let soc = Fraction::new(f64::from(*percent) / 100.0);
        Reference::standard()
            .rest_voltage(chemistry, soc)
            .is_some_and(|row| row.value.typical.get() >= cell_v)
    };
    f64::from((0..=100).find(below).unwrap_or(100)) / 100.0
}

fn array(expected: &Expected, value: f64, is_low: bool, system: &System) -> Vec<Cause> {
    let about = expected.about.and_then(|ix| system.devices.get(ix));
    let Some(Spec::Array(array)) = about.map(|device| &device.spec) else { return Vec::new() };
    let [low, _, high] = array_range(array);
    let series = f64::from(array.series.max(1));
    if value.abs() < 1.0 {
        return vec![
            cause(
                "a connector or the array disconnect is open",
                "Read at each module's own leads, beginning at the roof",
            ),
            cause("both leads are on the same pole", "Read each against the frame"),
        ];
    }
    if !is_low {
        return vec![
            cause(
                "one module more in series than planned",
                format!("Count them: each adds {} in the cold", array.module.open_voltage),
            ),
            cause("a module of another kind", "Read its label"),
        ];
    }
    let mut causes = Vec::new();
    // How many modules in series would read so?
    let fits: Vec<f64> = (1..array.series.max(1))
        .map(f64::from)
        .filter(|count| (low / series * count..=high / series * count).contains(&value))
        .collect();
    if let Some(count) = fits.last() {
        causes.push(cause(
            format!("{:.0} of {series:.0} modules in series gives nothing: shaded by its bypass diodes, left out, or turned round", series - count),
            "Read each module alone at its connectors; one that is turned round takes away two modules' voltage",
        ));
    } else if value > low * 0.6 {
        causes.push(cause(
            "part of a module is shaded, or one of its bypass diodes is shorted (a third or a half of its voltage)",
            "Wait for even light and read each module alone",
        ));
    }
    causes.push(cause("too little light: dawn, dusk or a cover", "Read again at noon"));
    causes.push(cause(
        "the controller was still joined and pulled the voltage down",
        "Open the array disconnect and read on its array side",
    ));
    causes
}

fn setting(expected: &Expected, value: f64, system: &System) -> Vec<Cause> {
    let Some(bank) = &system.bank else { return Vec::new() };
    let is_float = expected.id.ends_with(":float");
    let reference = Reference::standard();
    let nominal_of = |key: &str| reference.chemistry(key).map_or(2.0, |row| row.nominal.get());
    let mut near: Vec<(f64, String)> = Vec::new();
    for row in reference.chemistries() {
        if row.key == bank.chemistry.word() {
            continue;
        }
        let count = (system.voltage.get() / nominal_of(&row.key)).round();
        let (least, most) = if is_float { row.float } else { row.absorption };
        let (least, most) = (least.get() * count, most.get() * count);
        let off = (least - value).max(value - most).max(0.0);
        if off <= 0.1 {
            near.push((off, format!("it is set to {} ({least:.1} V to {most:.1} V)", row.key)));
        }
    }
    near.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut causes: Vec<Cause> = near
        .into_iter()
        .map(|(_, title)| {
            cause(title, format!("Choose the profile {} in the charger, or its user setting", bank.chemistry))
        })
        .collect();
    for factor in [0.5, 2.0, 4.0, 0.25] {
        if (value - expected.typical.number() * factor).abs() < 0.05 * value.abs() {
            causes.insert(
                0,
                cause(
                    "it is set for another system voltage",
                    "Set the system voltage by hand before joining the array",
                ),
            );
        }
    }
    causes.push(cause(
        "temperature compensation moves it",
        "Read the battery temperature that the charger sees; lithium wants no compensation",
    ));
    causes
}
