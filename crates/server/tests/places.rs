//! Every place has something to say, pins come and go without a trace, questions are in plain words.

mod projects;

use std::collections::BTreeSet;

use model::Edit;
use projects::{EXAMPLES, many, project, stand};
use server::Stand;
use server::tell::{self, Head};
use server::wire::{Ask, Part, PlaceKind};

#[test]
fn every_place_says_something() {
    let mut texts: Vec<String> = EXAMPLES.iter().map(|(_, text)| (*text).to_owned()).collect();
    texts.push(many(40));
    for text in texts {
        let stand = stand(&text);
        let mut told = BTreeSet::new();
        for device in &stand.system.devices {
            let place = tell::place(&stand, &device.id).expect("is there");
            assert_eq!(place.kind, PlaceKind::Device);
            assert!(!place.facts.is_empty() && !place.title.is_empty(), "{}", device.id);
            told.extend(place.derived.into_iter().map(|derived| derived.path));
        }
        for conductor in &stand.system.conductors {
            let place = tell::place(&stand, &conductor.id).expect("is there");
            assert_eq!(place.kind, PlaceKind::Conductor);
            assert!(!place.facts.is_empty(), "{}", conductor.id);
            assert_eq!(place.neighbours.len(), 2, "{}", conductor.id);
            told.extend(place.derived.into_iter().map(|derived| derived.path));
        }
        // What stands in the ledger and at no place belongs to the whole or to a zone.
        for (path, _) in stand.system.because.iter() {
            let is_whole = ["energy.", "zones.", "ac.peak"].iter().any(|whole| path.starts_with(whole));
            assert!(told.contains(path) || is_whole, "{path} is told at no place");
        }
        assert!(tell::place(&stand, "nothing-here").is_none());
    }
}

// The chain ends in what was written, assumed, practised, or read from a table or part.
#[test]
fn every_derived_value_says_why() {
    for (name, text) in EXAMPLES {
        let stand = stand(text);
        for device in &stand.system.devices {
            let place = tell::place(&stand, &device.id).expect("is there");
            let why = tell::why(&stand, &device.id);
            assert!(place.derived.is_empty() || !why.is_empty(), "{name}: {}", device.id);
            for derived in &place.derived {
                let why = tell::why(&stand, &derived.path);
                assert_eq!(why.len(), 1, "{name}: {}", derived.path);
                assert!(why[0].value == derived.value && !why[0].step.is_empty(), "{name}: {}", derived.path);
                for input in &why[0].inputs {
                    assert!(!input.source.is_empty(), "{name}: {}: {}", derived.path, input.what);
                    assert_eq!(input.why.is_some(), input.origin == "derived", "{name}: {}", derived.path);
                }
            }
        }
        assert!(tell::why(&stand, "no.such.path").is_empty());
    }
}

#[test]
fn a_place_shows_its_numbers_in_each_state() {
    let stand = stand(EXAMPLES[0].1);
    let place = tell::place(&stand, "fridge.positive").expect("is there");
    let has =
        |what: &str, scene: &str| place.facts.iter().any(|fact| fact.what == what && fact.scene == scene);
    assert!(has("Current", "everything on, bank low") && has("Voltage lost", "at night"));
    assert!(has("Fault current at its end, least", "short circuit"));
    assert_eq!(place.about, "16 AWG, 3.2 m".to_owned(), "as the diagram has it");
    let gauge =
        place.derived.iter().find(|derived| derived.path == "fridge.positive.gauge").expect("derived");
    assert!(gauge.can_pin && gauge.choices.contains(&"10 AWG".to_owned()));
    let fuse = tell::place(&stand, "fridge.fuse").expect("is there");
    let rating = fuse.derived.iter().find(|derived| derived.path == "fridge.fuse.rating").expect("derived");
    assert!(rating.choices.contains(&"10 A".to_owned()), "{:?}", rating.choices);
    let inverter = tell::place(&stand, "inverter").expect("is there");
    let part = inverter.derived.iter().find(|derived| derived.path == "inverter.part").expect("derived");
    assert!(part.choices.contains(&part.value) && part.choices.len() > 1);
}

// Pinned, a value shows with what would have been derived; unpinned, the file has its old bytes.
#[test]
fn pins_come_and_go_without_a_trace() {
    for (name, text) in &EXAMPLES[..4] {
        let before = stand(text);
        let ids = before.system.devices.iter().map(|d| &d.id);
        let ids: Vec<&String> = ids.chain(before.system.conductors.iter().map(|c| &c.id)).collect();
        let mut seen = BTreeSet::new();
        for id in ids {
            for derived in tell::place(&before, id).expect("is there").derived {
                if !derived.can_pin
                    || before.system.pinned.contains_key(&derived.path)
                    || !seen.insert(derived.path.clone())
                {
                    continue;
                }
                assert!(!derived.choices.is_empty(), "{name}: {} has choices", derived.path);
                let pin = Edit::pin(&derived.path, Some(derived.value.clone()));
                let pinned = before.project.with_edits(&[pin]).expect("reads");
                let system = derive::derive(&pinned);
                let unused: Vec<&str> = system.unused.iter().map(|unused| unused.message.as_str()).collect();
                assert!(system.pinned.contains_key(&derived.path), "{name}: {}: {unused:?}", derived.path);
                let back = pinned.with_edits(&[Edit::pin(&derived.path, None)]).expect("reads");
                assert_eq!(back.source.text, before.project.source.text, "{name}: {}", derived.path);
            }
        }
        assert!(seen.len() > 20, "{name}: {}", seen.len());
    }
}

#[test]
fn a_pin_stands_in_the_view() {
    let before = stand(EXAMPLES[0].1);
    let path = "fridge.positive.gauge";
    let pinned = before.project.with_edits(&[Edit::pin(path, Some("10 AWG".to_owned()))]).expect("reads");
    let after = Stand::after(&before, pinned);
    let view = tell::view(&after, &Head::default(), &[Part::Diagram]);
    let pin = view.pins.iter().find(|pin| pin.path == path).expect("is in the list");
    assert_eq!((pin.value.as_str(), pin.derived.as_deref()), ("10 AWG", Some("16 AWG")));
    let places = view.diagram.expect("was asked for").places;
    assert!(places.iter().any(|place| place.id == "fridge.positive" && place.is_pinned));
    let place = tell::place(&after, "fridge.positive").expect("is there");
    assert!(place.derived.iter().any(|d| d.path == path && d.derived.as_deref() == Some("16 AWG")));
    let wrong =
        before.project.with_edits(&[Edit::pin("fridge.colour", Some("red".to_owned()))]).expect("reads");
    let view = tell::view(&Stand::after(&before, wrong), &Head::default(), &[]);
    assert_eq!(
        view.pins.iter().find(|pin| pin.path == "fridge.colour").map(|pin| pin.derived.clone()),
        Some(None)
    );
}

#[test]
fn after_an_edit_all_is_as_if_computed_anew() {
    let before = stand(EXAMPLES[0].1);
    for edit in [
        Edit::set("loads.fridge.length", "6 m"),
        Edit::set("loads.fridge.hours", "12 h/day"),
        Edit::set("bank.capacity", "200 Ah"),
        Edit { path: vec!["loads".to_owned(), "hob".to_owned()], value: None },
    ] {
        let project = before.project.with_edits(std::slice::from_ref(&edit)).expect("reads");
        let (after, anew) = (Stand::after(&before, project.clone()), Stand::of(project, None));
        assert_eq!(after.study, anew.study, "{}", edit.shown());
        assert_eq!(after.findings, anew.findings, "{}", edit.shown());
    }
}

#[test]
fn questions_say_what_is_taken_and_why() {
    let stand = stand(EXAMPLES[0].1);
    let view = tell::view(&stand, &Head::default(), &[Part::Brief]);
    let groups = view.brief.expect("was asked for");
    let ids: Vec<&str> = groups.iter().map(|group| group.id.as_str()).collect();
    for id in ["brief", "place", "bank", "solar", "engine", "shore", "inverter", "bank.more"] {
        assert!(ids.contains(&id), "{id} in {ids:?}");
    }
    assert!(!ids.iter().any(|id| id.starts_with("loads.")), "asked for one by one");
    let loads: Vec<_> = ["fridge", "studio-lights"]
        .iter()
        .flat_map(|id| tell::fields(&stand, &format!("loads.{id}")))
        .collect();
    let all = groups.iter().chain(&loads).flat_map(|group| &group.fields);
    let find = |path: &str| all.clone().find(|field| field.path.join(".") == path).expect("is asked");
    let hours = find("loads.fridge.hours");
    assert_eq!(hours.taken.as_deref(), Some("24 h/day"));
    assert!(hours.because.is_some() && hours.plausible.is_some() && hours.written.is_none());
    assert_eq!(find("loads.studio-lights.hours").written.as_deref(), Some("4 h/day"));
    assert_eq!(find("brief.people").written.as_deref(), Some("2"));
    assert!(find("brief.craft").is_needed && !find("brief.people").is_needed);
    assert_eq!(find("brief.place.latitude").written.as_deref(), Some("44.2 N"));
    assert_eq!(find("bank.capacity").taken.as_deref(), Some("560 Ah"));
    assert_eq!(find("loads.fridge.power").taken.as_deref(), Some("48 W"));
    let Ask::Choice { choices } = &find("bank.chemistry").ask else { panic!("one of a few") };
    assert!(choices.iter().any(|choice| choice.value == "lfp" && choice.title == "Lithium iron phosphate"));
    let both: Vec<String> = tell::fields(&stand, "loads.fridge").into_iter().map(|group| group.id).collect();
    assert_eq!(both, ["loads.fridge", "loads.fridge.more"]);
    assert!(tell::fields(&stand, "loads.nothing").is_empty());
}

// What is shown as taken can be written: the file is read, and the system stays the same.
#[test]
fn what_is_taken_can_be_written() {
    let stand = stand(EXAMPLES[0].1);
    let view = tell::view(&stand, &Head::default(), &[Part::Brief]);
    let mut written = 0;
    let loads = view.loads.iter().flat_map(|load| tell::fields(&stand, &format!("loads.{}", load.id)));
    let asked = loads.filter(|group| !group.id.ends_with(".more"));
    for field in view.brief.expect("was asked for").into_iter().chain(asked).flat_map(|group| group.fields) {
        let Some(taken) = field.taken.filter(|_| field.written.is_none()) else { continue };
        let edit = Edit { path: field.path.clone(), value: Some(taken.clone()) };
        let shown = edit.shown();
        stand.project.with_edits(&[edit]).unwrap_or_else(|problems| panic!("{shown}: {problems:#?}"));
        written += 1;
    }
    assert!(written > 20, "{written}");
}

#[test]
fn two_letters_find_the_likely_part_first() {
    let library = model::library::builtin();
    let first = |words: &str| tell::parts(library, "load", words, 8);
    let titles: Vec<String> = first("fr").into_iter().map(|hit| hit.title.to_lowercase()).collect();
    assert!(titles[0].split(' ').any(|word| word.starts_with("fr")), "{titles:?}");
    assert!(titles.iter().take(3).any(|title| title.contains("fridge")), "{titles:?}");
    assert!(first("la")[0].title.to_lowercase().split(' ').any(|word| word.starts_with("la")));
    assert!(first("fridge 90").iter().any(|hit| hit.id == "fridge-90l" && hit.supply == "dc"));
    assert!(first("zzzz").is_empty());
    assert_eq!(tell::parts(library, "battery", "", 5).len(), 5);
    assert!(tell::parts(library, "battery", "lithium", 5).iter().all(|hit| hit.about.contains("Ah")));
    for kind in model::Library::KEYS {
        for hit in tell::parts(library, kind, "", 1000) {
            assert!(!hit.id.is_empty() && !hit.title.is_empty());
        }
    }
}

#[test]
fn mends_are_tried_and_tell_their_effect() {
    let faulty = stand(EXAMPLES[4].1);
    let view = tell::view(&faulty, &Head::default(), &[]);
    let mut mended = 0;
    for finding in view.findings.iter().filter(|finding| finding.can_try).take(6) {
        let mends = tell::mends(&faulty, &finding.rule, &finding.place).expect("is there");
        let Some(mend) = mends.tried else { continue };
        mended += 1;
        assert_eq!(mend.written.len(), mend.edits.len());
        assert!(
            mend.effect.goes.iter().any(|line| line.rule == finding.rule && line.place == finding.place),
            "{} at {} goes",
            finding.rule,
            finding.place
        );
        assert!(mend.effect.comes.iter().all(|line| line.severity == server::wire::Severity::Advice));
        let again = tell::effect(&faulty, &mend.edits).expect("applies");
        assert_eq!(again.price, mend.effect.price);
    }
    assert!(mended > 2, "{mended}");
    assert!(tell::mends(&faulty, "no-such-rule", "nowhere").is_none());
    let none = server::wire::Edit { path: vec!["brief".to_owned(), "voltage".to_owned()], value: None };
    assert!(tell::effect(&faulty, &[none]).is_none(), "a file that cannot be read has no effect");
}

#[test]
fn papers_are_listed_and_given() {
    let heron = stand(EXAMPLES[0].1);
    let papers = tell::papers(&heron).expect("are made");
    assert!(papers.iter().any(|paper| paper.name == "one-line.svg" && paper.can_show));
    for paper in papers.iter().filter(|paper| paper.name.ends_with(".svg") || paper.name.ends_with(".md")) {
        let bytes = tell::paper(&heron, &paper.name).expect("is made").expect("is there");
        assert_eq!(bytes.len(), paper.bytes);
    }
    assert!(tell::paper(&heron, "../intent.toml").expect("is made").is_none());
}

#[test]
fn long_work_tells_and_stops() {
    let wren = stand(EXAMPLES[3].1);
    let progress = energy::Progress::default();
    let years = tell::years(&wren, 30, &progress).expect("there is a bank");
    assert_eq!((years.count, years.band_50.len(), years.months.len()), (30, 365, 12));
    progress.stop.store(true, std::sync::atomic::Ordering::Relaxed);
    assert!(tell::years(&wren, 30, &progress).is_none());
    let begun = std::cell::Cell::new(0);
    let progress = energy::Progress::default();
    let sizes =
        tell::sizes(&wren, 3, &progress, &|total| begun.set(total)).expect("can be searched").expect("ends");
    assert!(begun.get() > 0);
    assert_eq!(sizes.designs.iter().filter(|design| design.is_current).count(), 1);
    assert!(sizes.designs.windows(2).all(|pair| pair[0].price <= pair[1].price));
    for design in sizes.designs.iter().take(5) {
        let edits: Vec<Edit> = design
            .edits
            .iter()
            .map(|edit| Edit { path: edit.path.clone(), value: edit.value.clone() })
            .collect();
        project(&wren.project.source.text).with_edits(&edits).expect("a design can be written");
    }
}

#[test]
fn questions_that_matter_come_with_both_ends() {
    for question in tell::questions(&stand(EXAMPLES[3].1)) {
        assert!(!question.taken.is_empty() && !question.because.is_empty());
        assert_ne!(question.low.0, question.high.0);
    }
}

#[test]
fn a_short_circuit_tells_what_opens_and_what_goes_dark() {
    let heron = stand(EXAMPLES[0].1);
    let places = tell::fault_places(&heron);
    assert!(places.len() > 40, "{}", places.len());
    for place in &places {
        let story = tell::fault(&heron, &place.terminal).expect("is a place");
        assert!(!story.summary.is_empty() && !story.ways.is_empty(), "{}", place.terminal);
        assert_eq!(story.place.most, place.most);
        for way in &story.ways {
            // A source shorted at its own terminal has no way to go.
            assert!(way.source.id == place.device || !way.through.is_empty(), "{}", place.terminal);
            assert!(way.opens.is_none() || !way.when.is_empty(), "{}", place.terminal);
        }
    }
    // A short in the fridge opens the fridge's own fuse and nothing else goes dark.
    let story = tell::fault(&heron, "fridge.positive").expect("is a place");
    let opens =
        story.ways.iter().find(|way| way.source.id.starts_with("bank")).and_then(|way| way.opens.as_ref());
    assert_eq!(opens.map(|opens| opens.id.as_str()), Some("fridge.fuse"));
    assert_eq!(story.dark.iter().map(|dark| dark.id.as_str()).collect::<Vec<_>>(), ["fridge"]);
    assert!(tell::fault(&heron, "fridge.nothing").is_none() && tell::fault(&heron, "").is_none());
}

#[test]
fn a_project_beside_itself_differs_in_nothing() {
    let (heron, wren) = (stand(EXAMPLES[0].1), stand(EXAMPLES[3].1));
    let same = tell::compare(&heron, &heron);
    assert!(same.figures.iter().chain(&same.parts).all(|pair| !pair.differs && pair.left == pair.right));
    assert!(same.only_left.is_empty() && same.only_right.is_empty() && same.intent.is_empty());
    assert_eq!((same.both.len(), same.months.len()), (heron.findings.len(), 12));
    let other = tell::compare(&heron, &wren);
    assert!(other.figures.iter().any(|pair| pair.differs) && !other.intent.is_empty());
    // Those that differ stand first.
    assert!(other.parts.is_sorted_by_key(|pair| !pair.differs));
}

#[test]
fn the_workshop_has_every_step_cable_and_reading() {
    let heron = stand(EXAMPLES[0].1);
    let file = |name: &str, text: &str| model::SourceText { name: name.to_owned(), text: text.to_owned() };
    let build = tell::build(&heron, 3, &file("readings.toml", ""), &file("ticks.toml", ""));
    assert!(build.problems.is_empty() && build.refused.is_empty() && build.number == 3);
    assert!(build.steps.len() > 20 && build.readings.len() > 20 && build.causes.is_empty());
    assert_eq!(build.cables.len(), heron.schedules.as_ref().expect("can be built").cables.len());
    let stages: BTreeSet<&str> = build.stages.iter().map(|stage| stage.id.as_str()).collect();
    assert!(build.steps.iter().all(|step| stages.contains(step.stage.as_str())));
    assert!(build.readings.iter().all(|reading| stages.contains(reading.stage.as_str())));
    let ids: BTreeSet<&str> = build.steps.iter().map(|step| step.id.as_str()).collect();
    assert!(build.steps.iter().flat_map(|step| &step.needs).all(|need| ids.contains(need.as_str())));
    let rest = build.readings.iter().find(|reading| reading.unit == "V").expect("a voltage");
    let readings = format!("[readings.\"{}\"]\nvalue = \"1 V\"\n", rest.id);
    let ticks = format!("[done]\n\"{}\" = true\n", build.steps[0].id);
    let build = tell::build(&heron, 4, &file("readings.toml", &readings), &file("ticks.toml", &ticks));
    assert_eq!(build.ticked, [build.steps[0].id.clone()]);
    let line = build.readings.iter().find(|reading| reading.id == rest.id).expect("is there");
    assert_eq!(line.value.as_deref(), Some("1 V"));
    assert!(!matches!(line.verdict, server::wire::VerdictWord::Open | server::wire::VerdictWord::Within));
    let build = tell::build(
        &heron,
        5,
        &file("readings.toml", "[readings.x]\nvalue = 3\n"),
        &file("ticks.toml", "done = 1"),
    );
    assert!(build.problems.len() >= 2 && build.problems.iter().all(|problem| !problem.mend.is_empty()));
}
