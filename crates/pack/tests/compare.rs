//! Side by side: a project with itself, and with one that differs in a known way.
//! Never: takes a figure from the comparison's own code; sums are made anew from the systems.
//! Start at any test.

mod common;

use common::Derived;
use pack::{Comparison, Figure, Inputs, compare};

fn inputs(side: &Derived) -> Inputs<'_> {
    Inputs {
        system: &side.system,
        library: &side.library,
        results: &side.results,
        study: side.study.as_ref(),
        findings: &side.findings,
        questions: &side.questions,
        alternatives: &side.alternatives,
        one_line: "",
        layout: None,
        vehicle: None,
        labelling: None,
    }
}

fn figure<'f>(comparison: &'f Comparison, key: &str) -> &'f Figure {
    let found = comparison.figures.iter().find(|figure| figure.key == key);
    found.unwrap_or_else(|| panic!("no figure {key}"))
}

const HERON: &str = include_str!("../../../examples/heron/intent.toml");

#[test]
fn a_project_beside_itself_differs_in_nothing() {
    let heron = Derived::text(HERON.to_owned());
    let comparison = compare(&inputs(&heron), &inputs(&heron));
    assert!(comparison.figures.len() > 15);
    for figure in &comparison.figures {
        assert!(figure.same && figure.difference_number.is_none_or(|number| number == 0.0), "{figure:?}");
    }
    assert!(comparison.findings_left.is_empty() && comparison.findings_right.is_empty());
    assert_eq!(comparison.findings_both.len(), heron.findings.len());
    assert!(!comparison.parts.is_empty() && comparison.parts.iter().all(|part| part.left == part.right));
    assert_eq!(comparison.months.len(), 12);
}

/// Twice the modules: rated power, price and mass rise by theirs; what goes one way comes back the other way.
#[test]
fn more_modules_show_in_power_price_mass_and_parts() {
    let many = Derived::text(HERON.to_owned());
    let modules_of = |device: &model::Device| match &device.spec {
        model::Spec::Array(array) if array.name == "roof" => f64::from(array.series * array.parallel),
        _ => 0.0,
    };
    let modules: f64 = many.system.devices.iter().map(modules_of).sum();
    let start = HERON.find("[solar.roof]").expect("an array in the file");
    let at = start + HERON[start..].find("\ncount").expect("its count") + 1;
    let end = at + HERON[at..].find('\n').expect("a line");
    let text = format!("{}count = {}{}", &HERON[..at], modules / 2.0, &HERON[end..]);
    let few = Derived::text(text);
    let there = compare(&inputs(&few), &inputs(&many));
    let back = compare(&inputs(&many), &inputs(&few));
    let power = figure(&there, "array-power");
    let watts = |side: &Derived| -> f64 {
        let power = |device: &model::Device| match &device.spec {
            model::Spec::Array(array) => array.module.power.get() * f64::from(array.series * array.parallel),
            _ => 0.0,
        };
        side.system.devices.iter().map(power).sum()
    };
    assert_eq!(power.difference_number, Some(watts(&many) - watts(&few)));
    assert!(power.difference.as_ref().is_some_and(|text| text.starts_with('+')));
    for key in ["price-low", "price-high", "mass"] {
        let (one, other) = (figure(&there, key).difference_number, figure(&back, key).difference_number);
        let (one, other) = (one.expect("known"), other.expect("known"));
        assert!(one > 0.0 && (one + other).abs() < 1e-9, "{key}: {one} {other}");
    }
    let module = there.parts.iter().find(|part| part.kind == "module").expect("modules are parts");
    assert_eq!((module.left, module.right), (modules / 2.0, modules));
    let sun = |pick: fn(&pack::MonthPair) -> f64| there.months.iter().map(pick).sum::<f64>();
    assert!(
        sun(|month| month.right.sun.get() + month.right.curtailed.get()) > sun(|month| month.left.sun.get())
    );
}
