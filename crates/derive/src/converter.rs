//! Converters: from the busbars to a panel of a second direct voltage.
//! Never: groups loads; the panel's plan comes with them.
//! Start at [`build`].

use model::parts::Converter;
use model::{CircuitKind, Inputs, Origin, Pole, Spec};
use quantity::Fraction;

use crate::board::{Bars, MAIN_DROP};
use crate::builder::{Builder, terminal};
use crate::choose::PartAsk;
use crate::panels::{FEEDER_DROP, PanelPlan};
use crate::run::{Guard, Run};
use crate::settings::{Length, Settings, assumed_length, same_nominal};

/// Builds the converter of a panel; gives its output terminals, or nothing where no part fits.
pub fn build(builder: &mut Builder<'_>, settings: &Settings, bars: Bars, panel: &PanelPlan) -> Option<Bars> {
    let project = builder.project;
    let name = panel.converter.clone()?;
    let intent = project.intent.converters.get(&name);
    let path = format!("converters.{name}");
    let id = name.to_string();
    if let Some(device) = builder.find(&id) {
        // A second panel of the same voltage hangs on the same converter.
        return Some(Bars {
            positive: builder.at(device, "positive"),
            negative: builder.at(device, "negative"),
        });
    }
    let steady = panel.steady(panel.voltage, panel.voltage);
    let surge = panel.surge(panel.voltage, panel.voltage);
    let part_path = format!("{id}.part");
    let intent_path = if intent.is_some() { path.clone() } else { "loads".to_owned() };
    let ask = PartAsk {
        path: &part_path,
        kind: "converter",
        need: format!(
            "a converter from {} to {} for {steady}, {surge} while the largest starts",
            settings.voltage, panel.voltage
        ),
        named: intent.and_then(|converter| converter.part.as_ref()),
        intent: &intent_path,
        inputs: Inputs::new().with(
            "current of its panel",
            steady,
            Origin::Derived(format!("{}.current", panel.id)),
        ),
    };
    let (part_id, part) = builder.choose(&project.library.converter, ask, |part: &Converter| {
        settings.is_bank_voltage(part.input)
            && same_nominal(part.output, panel.voltage)
            && part.current >= surge
    })?;
    let zone_name = intent.and_then(|converter| converter.zone.clone());
    let zone = zone_name.map_or(settings.board_zone, |zone| builder.zone(&Some(zone)));
    let most = Some(part.max_gauge);
    let mut terminals = vec![terminal("in-positive", Pole::Positive, None, most)];
    if part.isolated {
        terminals.push(terminal("in-negative", Pole::Negative, None, most));
    }
    terminals.push(terminal("positive", Pole::Positive, None, most));
    terminals.push(terminal("negative", Pole::Negative, None, most));
    let device = builder.device(
        &id,
        &format!("Converter to {}", panel.voltage),
        Spec::Converter(part.clone()),
        terminals,
        zone,
        &intent_path,
    );
    builder.is_part(device, "converter", &part_id, &part);
    let (usual, low, high) = assumed_length(settings.craft, Length::Board);
    let length = builder.given_length(
        &format!("{path}.length"),
        intent.and_then(|converter| converter.length),
        usual,
        Some((low, high)),
        "beside the busbars on the board",
        false,
    );
    let factor = builder.reference.continuous_factor(settings.rules);
    // What a converter may draw is set by its rating, not by what hangs on it today.
    let input = part.output * part.current / part.efficiency.get() / settings.voltage_low;
    let input_negative = if part.isolated { "in-negative" } else { "negative" };
    let to = (builder.at(device, "in-positive"), builder.at(device, input_negative));
    builder.because(
        format!("{id}.drop-limit"),
        Inputs::new()
            .because(format!("{} %", FEEDER_DROP * 100.0), "as a feeder; common practice, no source"),
    );
    builder.lay(
        settings,
        Run {
            id: id.clone(),
            title: format!("Converter to {}", panel.voltage),
            kind: CircuitKind::Converter,
            voltage: settings.voltage,
            voltage_lowest: settings.voltage_low,
            steady: input,
            surge: input,
            drop_current: input,
            continuous: true,
            critical: false,
            drop_limit: Fraction::new(FEEDER_DROP + MAIN_DROP),
            factor: (factor.value, Origin::Table(factor.cite)),
            from: (bars.positive, bars.negative),
            to,
            length,
            zone,
            bundle: 1,
            sheathed: false,
            guard: Guard::AtSource,
            intent: intent_path,
            current_step: format!(
                "{} x {} / ({} x {})",
                part.output, part.current, part.efficiency, settings.voltage_low
            ),
            current_inputs: Inputs::new().with(
                "converter",
                &part.title,
                Origin::Part(format!("converter.{part_id}.current")),
            ),
            serves: vec![device],
        },
    );
    let positive = builder.at(device, "positive");
    let negative = builder.at(device, "negative");
    // The output is limited by the converter's own electronics: its loop is taken so that the fault is twice its rating.
    builder.source_loop.insert(positive, part.output / (part.current * 2.0));
    Some(Bars { positive, negative })
}
