//! The checklist page: complete, offline, and deaf to whatever a name holds.
//! Never: runs its script (a browser does, in `web/e2e/tasks/checklists.test.ts`).
//! Start at the first test.
#![allow(clippy::unwrap_used)] // A test may stop at what it did not expect.

mod common;

use std::collections::BTreeSet;

use common::{Derived, small, text};
use pack::{BuildOrder, Measure, Stage, Step, build_order, checklist_page};

const EXAMPLES: [&str; 5] = ["heron", "teal", "wren", "marten", "faulty"];

/// Values of an attribute, in order.
fn values<'p>(page: &'p str, attribute: &str) -> Vec<&'p str> {
    page.split(&format!(" {attribute}=\"")).skip(1).map(|rest| rest.split('"').next().unwrap()).collect()
}

#[test]
fn every_step_and_reading_has_a_box_of_its_own() {
    for name in EXAMPLES {
        let derived = Derived::example(name);
        let page = text(&derived.pack(), "checklists.html");
        let order = build_order(&derived.system, &derived.results, None);
        let boxes = values(&page, "data-tick");
        let measures: usize = order.steps.iter().map(|step| step.measures.len()).sum();
        assert_eq!(boxes.len(), order.steps.len() + measures, "{name}");
        assert_eq!(boxes.iter().collect::<BTreeSet<_>>().len(), boxes.len(), "{name}: a name stands twice");
        // In the order of the build order.
        let steps: Vec<&str> = boxes.iter().copied().filter(|id| !id.contains(" / ")).collect();
        let wanted: Vec<&str> = order.steps.iter().map(|step| step.id.as_str()).collect();
        assert_eq!(steps, wanted, "{name}");
        // The safety note stands before the first heading, and so before the first box.
        let (safety, heading) = (page.find(pack::SAFETY).unwrap(), page.find("<h1").unwrap());
        assert!(safety < heading, "{name}");
        // A reading with limits says them.
        let limited = order.steps.iter().flat_map(|step| &step.measures);
        let limited = limited.filter(|measure| measure.low.is_some() || measure.high.is_some()).count();
        assert_eq!(page.matches("class=\"band\"").count(), limited, "{name}");
        assert_eq!(values(&page, "data-reading").len(), limited, "{name}");
    }
}

#[test]
fn nothing_is_fetched() {
    let page = text(&small().pack(), "checklists.html");
    let policy =
        page.split("Content-Security-Policy\" content=\"").nth(1).unwrap().split('"').next().unwrap();
    assert!(policy.starts_with("default-src 'none'; script-src 'sha256-"), "{policy}");
    assert!(!policy.contains("unsafe"), "{policy}");
    for outside in
        ["http:", "https:", "//www", " src=", "<link", "<img", "<iframe", "url(", "@import", "fetch("]
    {
        assert!(!page.contains(outside), "{outside}");
    }
    // The policy lets no attribute run or style anything, so that there may be none.
    for inline in [" style=\"", " onclick", " onload", " onerror", "javascript:"] {
        assert!(!page.contains(inline), "{inline}");
    }
}

#[test]
fn hostile_names_stay_text() {
    let bad = "</main><script>alert(1)</script>\" onload='x' \u{0}&amp; <img src=x>";
    let mut step = Step::new(Stage::Bench, bad.to_owned(), bad);
    step.number = 1;
    step.lines.push(bad.to_owned());
    step.why = bad.to_owned();
    step.dead.push(bad.to_owned());
    step.live.push(bad.to_owned());
    step.cautions.push(bad.to_owned());
    step.measures.push(Measure {
        id: bad.to_owned(),
        what: bad.to_owned(),
        at: vec![bad.to_owned()],
        expect: bad.to_owned(),
        low: Some(pack::Value::Volts(quantity::Volts::new(1.0))),
        high: None,
        source: None,
    });
    let order = BuildOrder { safety: bad.to_owned(), steps: vec![step] };
    let page = checklist_page(bad, &order);
    assert_eq!(page.matches("<script").count(), 1);
    assert_eq!(page.matches("</script").count(), 1);
    assert_eq!(page.matches("</main>").count(), 1);
    assert!(!page.contains("<img") && !page.contains('\u{0}') && !page.contains("onload='"));
    assert!(page.contains("&amp;amp;"));
}

#[test]
fn a_changed_step_is_another_list_and_the_same_order_the_same_bytes() {
    let derived = small();
    let order = build_order(&derived.system, &derived.results, None);
    let page = checklist_page("Small", &order);
    assert_eq!(page, checklist_page("Small", &order));
    let digest = |page: &str| values(page, "data-list")[0].to_owned();
    // Another name is another project, and its list the same.
    assert_eq!(digest(&page), digest(&checklist_page("Other", &order)));
    let mut changed = order.clone();
    changed.steps[0].lines.push("One thing more.".to_owned());
    assert_ne!(digest(&page), digest(&checklist_page("Small", &changed)));
}
