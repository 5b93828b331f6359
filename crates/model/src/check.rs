//! Sense inside a project: every name that is used must exist, every number must be possible.

use crate::read::{Problem, nearest};
use crate::{Intent, Library, Name, SourceText, Spans, ranges};

/// Every reference to nothing, with the nearest name that exists, and every number out of bounds.
pub fn references(intent: &Intent, spans: &Spans, source: &SourceText, library: &Library) -> Vec<Problem> {
    let mut check = Check { spans, source, problems: Vec::new() };
    let zones: Vec<&str> = intent.zones.keys().map(Name::as_str).collect();
    let routes: Vec<&str> = intent.routes.keys().map(Name::as_str).collect();
    let panels: Vec<&str> = intent.panels.keys().map(Name::as_str).collect();

    for (name, load) in &intent.loads {
        let at = |field: &str| format!("loads.{name}.{field}");
        check.name(&load.zone, &at("zone"), "zone", &zones);
        check.name(&load.route, &at("route"), "route", &routes);
        check.name(&load.panel, &at("panel"), "panel", &panels);
        check.part(&load.part, &at("part"), "load", &library.load);
        if load.part.is_none() && load.power.is_none() && load.current.is_none() && load.energy.is_none() {
            check.report(
                &format!("loads.{name}"),
                format!("load `{name}` does not say what it takes"),
                "Add `part = \"…\"`, `power = \"45 W\"` or `current = \"3.8 A\"`".to_owned(),
            );
        }
    }
    for (name, array) in &intent.solar {
        let at = |field: &str| format!("solar.{name}.{field}");
        check.name(&array.zone, &at("zone"), "zone", &zones);
        check.name(&array.route, &at("route"), "route", &routes);
        check.part(&array.module, &at("module"), "module", &library.module);
        check.part(&array.controller, &at("controller"), "controller", &library.controller);
    }
    for (name, panel) in &intent.panels {
        let at = |field: &str| format!("panels.{name}.{field}");
        check.name(&panel.zone, &at("zone"), "zone", &zones);
        check.name(&panel.route, &at("route"), "route", &routes);
        check.part(&panel.part, &at("part"), "fuse panel", &library.fuse_panel);
    }
    for (name, converter) in &intent.converters {
        let at = |field: &str| format!("converters.{name}.{field}");
        check.name(&Some(converter.panel.clone()), &at("panel"), "panel", &panels);
        check.name(&converter.zone, &at("zone"), "zone", &zones);
        check.part(&converter.part, &at("part"), "converter", &library.converter);
    }
    for (name, route) in &intent.routes {
        check.name(&route.zone, &format!("routes.{name}.zone"), "zone", &zones);
    }
    if let Some(bank) = &intent.bank {
        check.name(&bank.zone, "bank.zone", "zone", &zones);
        check.part(&bank.part, "bank.part", "battery", &library.battery);
    }
    if let Some(engine) = &intent.engine {
        check.name(&engine.route, "engine.route", "route", &routes);
        check.part(&engine.part, "engine.part", "alternator", &library.alternator);
        if let Some(part) = &engine.charger {
            let known: Vec<&str> =
                library.dcdc.keys().chain(library.relay.keys()).map(Name::as_str).collect();
            check.name(&Some(part.clone()), "engine.charger", "DC-DC charger or relay part", &known);
        }
    }
    if let Some(shore) = &intent.shore {
        check.name(&shore.route, "shore.route", "route", &routes);
        check.part(&shore.part, "shore.part", "inlet", &library.inlet);
    }
    if let Some(generator) = &intent.generator {
        check.name(&generator.route, "generator.route", "route", &routes);
        check.part(&generator.part, "generator.part", "generator", &library.generator);
    }
    if let Some(inverter) = &intent.inverter {
        check.name(&inverter.zone, "inverter.zone", "zone", &zones);
        check.part(&inverter.part, "inverter.part", "inverter", &library.inverter);
    }
    if let Some(charger) = &intent.charger {
        check.name(&charger.zone, "charger.zone", "zone", &zones);
        check.part(&charger.part, "charger.part", "charger", &library.charger);
    }
    if let Some(ac) = &intent.ac {
        check.name(&ac.zone, "ac.zone", "zone", &zones);
        check.part(&ac.part, "ac.part", "AC panel", &library.ac_panel);
    }
    for (index, answer) in intent.answers.iter().enumerate() {
        if answer.reason.trim().is_empty() {
            check.report(
                &format!("answers[{index}].reason"),
                format!("the answer to `{}` gives no reason", answer.rule),
                "Write why it is accepted: the documents print it".to_owned(),
            );
        }
    }
    for (path, message, mend) in crate::stack_intent::faults(&intent.stacks) {
        check.report(&path, message, mend);
    }
    for (index, change) in intent.built.iter().enumerate() {
        check.name(&change.zone, &format!("built[{index}].zone"), "zone", &zones);
    }
    for (name, zone) in &intent.zones {
        if let (Some(coldest), Some(hottest)) = (zone.coldest, zone.hottest)
            && coldest > hottest
        {
            check.report(
                &format!("zones.{name}.coldest"),
                format!("the coldest of zone `{name}`, {coldest}, is above its hottest, {hottest}"),
                "Exchange the two".to_owned(),
            );
        }
    }
    if let Some(board) = &intent.board {
        check.name(&board.zone, "board.zone", "zone", &zones);
        for (path, message, mend) in crate::board_check::faults(board) {
            check.report(&path, message, mend);
        }
    }
    if let Some(plan) = &intent.plan {
        for (name, channel) in &plan.channels {
            check.name(&channel.zone, &format!("plan.channels.{name}.zone"), "zone", &zones);
        }
        for name in plan.zones.keys() {
            check.name(&Some(name.clone()), &format!("plan.zones.{name}"), "zone", &zones);
        }
        for (path, message, mend) in crate::plan_check::faults(intent, plan) {
            check.report(&path, message, mend);
        }
    }
    let mut problems = check.problems;
    problems.extend(ranges::check(intent, ranges::INTENT, spans, source));
    problems.sort_by_key(|problem| problem.span.start);
    problems
}

struct Check<'c> {
    spans: &'c Spans,
    source: &'c SourceText,
    problems: Vec<Problem>,
}

impl Check<'_> {
    fn report(&mut self, path: &str, message: String, mend: String) {
        let span = self.spans.nearest(path).unwrap_or(0..0);
        let (line, column) = self.source.line_column(span.start);
        self.problems.push(Problem {
            message,
            file: self.source.name.clone(),
            field: path.to_owned(),
            span,
            line,
            column,
            mend,
        });
    }

    fn name(&mut self, name: &Option<Name>, path: &str, what: &str, known: &[&str]) {
        let Some(name) = name else { return };
        if known.contains(&name.as_str()) {
            return;
        }
        let mend = match nearest(name.as_str(), known.iter().copied()) {
            Some(near) => format!("Did you mean `{near}`?"),
            None if known.is_empty() => format!("No {what} is declared; add `[{what}s.{name}]`"),
            None => format!("Known: {}", known.iter().take(12).copied().collect::<Vec<_>>().join(", ")),
        };
        self.report(path, format!("there is no {what} `{name}`"), mend);
    }

    fn part<T>(
        &mut self,
        name: &Option<Name>,
        path: &str,
        what: &str,
        parts: &std::collections::BTreeMap<Name, T>,
    ) {
        if let Some(wanted) = name
            && !parts.contains_key(wanted)
        {
            let known: Vec<&str> = parts.keys().map(Name::as_str).collect();
            self.name(name, path, &format!("{what} part"), &known);
        }
    }
}
