//! Two windows and an editor at one project: nothing is lost, everything can be taken back.
//! Never: asserts a time. Start at `two_windows_lose_nothing`.

use std::time::{Duration, Instant};

use crate::client::Running;
use proptest::prelude::*;
use serde_json::{Value, json};

const FAN: &[&str] = &["loads", "fan", "hours"];
const LIGHTS: &[&str] = &["loads", "lights", "hours"];
const USB: &[&str] = &["loads", "usb", "hours"];

/// Waits for something that another thread brings about.
fn until(what: &str, mut is: impl FnMut() -> bool) {
    let begun = Instant::now();
    while !is() {
        assert!(begun.elapsed() < Duration::from_secs(60), "{what} did not come");
        std::thread::sleep(Duration::from_millis(50));
    }
}

#[test]
fn an_edit_is_on_the_disk_when_it_is_acknowledged_and_keeps_comments() {
    let running = Running::start();
    let before = running.intent();
    let number = running.number();
    running.change(number, &[(FAN, Some("7 h/day"))]).is(200);
    assert_eq!(running.intent(), before.replace("hours = \"5 h/day\"", "hours = \"7 h/day\""));
    let back = running.post("/api/projects/wren/go", &json!({ "to": "back" })).is(200).json();
    assert_eq!(running.intent(), before);
    assert_eq!(back["forward"], "a change");
    running.post("/api/projects/wren/go", &json!({ "to": "forward" })).is(200);
    assert!(running.intent().contains("7 h/day"));
}

#[test]
fn an_edit_that_would_make_the_file_unreadable_is_refused_with_its_line() {
    let running = Running::start();
    let (before, number) = (running.intent(), running.number());
    for (path, value) in [
        (FAN, "many"),
        (&["loads", "fan", "part"][..], "no-such-part"),
        (&["nonsense"][..], "1"),
        (&["brief", "voltage"][..], "13 m"),
    ] {
        let fault = running.change(number, &[(path, Some(value))]).is(422).json();
        let problem = &fault["problems"][0];
        assert_eq!(problem["file"], "intent.toml");
        assert!(
            problem["line"].as_u64().unwrap() > 0 && !problem["mend"].as_str().unwrap().is_empty(),
            "{fault}"
        );
        assert_eq!(running.intent(), before);
    }
    // Together or not at all.
    running.change(number, &[(LIGHTS, Some("3 h/day")), (FAN, Some("many"))]).is(422);
    assert_eq!((running.intent(), running.number()), (before, number));
}

#[test]
fn a_trial_shows_what_would_be_and_saves_nothing() {
    let running = Running::start();
    let (before, number) = (running.intent(), running.number());
    let trial =
        running.change_with(number, &[(FAN, Some("20 h/day"))], &json!({ "dry": true })).is(200).json();
    assert_eq!((&trial["isTrial"], &trial["number"]), (&json!(true), &json!(number)));
    let need = |view: &Value| {
        let loads = view["loads"].as_array().unwrap().iter();
        loads.clone().find(|load| load["id"] == "fan").unwrap()["energyWh"].as_f64().unwrap()
    };
    assert!(need(&trial) > need(&running.view()) * 3.0);
    assert_eq!((running.intent(), running.number()), (before, number));
}

#[test]
fn the_same_value_on_two_sides_is_a_clash_and_another_is_not() {
    let running = Running::start();
    let base = running.number();
    running.change(base, &[(FAN, Some("6 h/day"))]).is(200);
    running.change(base, &[(LIGHTS, Some("1 h/day"))]).is(200);
    let clash = running.change(base, &[(FAN, Some("7 h/day"))]).is(409).json();
    let value = &clash["values"][0];
    assert_eq!(
        (&value["was"], &value["now"], &value["wanted"]),
        (&json!("5 h/day"), &json!("6 h/day"), &json!("7 h/day"))
    );
    assert_eq!(clash["view"]["number"], running.number());
    assert!(running.intent().contains("6 h/day") && running.intent().contains("1 h/day"));
    running.change_with(base, &[(FAN, Some("7 h/day"))], &json!({ "over": true })).is(200);
    assert!(running.intent().contains("7 h/day"));
    // A state that was never there cannot be what somebody saw.
    running.change(123_456, &[(FAN, Some("8 h/day"))]).is(409);
}

#[test]
fn an_editor_is_heard_and_its_text_joined() {
    let running = Running::start();
    let base = running.number();
    let mut news = running.events("/api/news");
    let text = running.intent().replace("# Wren", "# Our Wren").replace("\"2.5 h/day\"", "\"3 h/day\"");
    std::fs::write(running.file("intent.toml"), &text).unwrap();
    let told = news.next().unwrap();
    assert_eq!(
        (&told["key"], &told["by"], &told["isBroken"]),
        (&json!("wren"), &json!("editor"), &json!(false))
    );
    running.change(base, &[(FAN, Some("9 h/day"))]).is(200);
    assert_eq!(running.intent(), text.replace("hours = \"5 h/day\"", "hours = \"9 h/day\""));
    running.change(base, &[(LIGHTS, Some("4 h/day"))]).is(409);
}

#[test]
fn a_broken_file_keeps_the_last_good_view_and_can_be_mended() {
    let running = Running::start();
    let good = running.intent();
    let number = running.number();
    std::fs::write(running.file("intent.toml"), good.replace("\"5 h/day\"", "\"5 pounds\"")).unwrap();
    until("the mistake", || !running.view()["problems"].as_array().unwrap().is_empty());
    let view = running.view();
    assert_eq!(view["name"], "Wren");
    assert_eq!(
        (&view["problems"][0]["file"], &view["problems"][0]["line"]),
        (&json!("intent.toml"), &json!(55))
    );
    let fault = running.change(number, &[(USB, Some("1 h/day"))]).is(422).json();
    assert_eq!(fault["problems"][0]["line"], 55);
    assert!(running.intent().contains("5 pounds"), "what the person wrote stays");
    let view =
        running.post("/api/projects/wren/go", &json!({ "to": "state", "number": number })).is(200).json();
    assert_eq!(view["problems"], json!([]));
    assert_eq!(running.intent(), good);
    // Gone altogether.
    std::fs::remove_file(running.file("intent.toml")).unwrap();
    until("the loss", || !running.view()["problems"].as_array().unwrap().is_empty());
    running.post("/api/projects/wren/go", &json!({ "to": "state", "number": number })).is(200);
    assert_eq!(running.intent(), good);
    // No text, and then what stood there before.
    std::fs::write(running.file("intent.toml"), b"\xff\xfe\x00").unwrap();
    until("the trouble", || !running.view()["problems"].as_array().unwrap().is_empty());
    std::fs::write(running.file("intent.toml"), &good).unwrap();
    until("its end", || running.view()["problems"].as_array().unwrap().is_empty());
    running.change(number, &[(USB, Some("1 h/day"))]).is(200);
}

/// What a window does: sets one of three values, on what it saw last or on what it sees now; or goes back.
#[derive(Clone, Debug)]
enum Act {
    Set(usize, u32),
    Look,
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 6, max_shrink_iters: 40, ..ProptestConfig::default() })]

    /// Two windows set values in any order, on states that may be old. A change is either in the file at once and told so, or
    /// refused with what stands; and one that was acknowledged goes away only when somebody who saw it sets it anew.
    #[test]
    fn two_windows_lose_nothing(acts in prop::collection::vec((0..2_usize, prop_oneof![
        4 => (0..3_usize, 1..9_u32).prop_map(|(at, hours)| Act::Set(at, hours)),
        1 => Just(Act::Look),
    ]), 1..14)) {
        let running = Running::start();
        let paths = [FAN, LIGHTS, USB];
        let number = running.number();
        let mut stands: [String; 3] = ["5 h/day", "2.5 h/day", "2 h/day"].map(str::to_owned);
        // What each window saw: the state and the values then.
        let mut saw = [(number, stands.clone()), (number, stands.clone())];
        for (window, act) in acts {
            let (base, seen) = saw[window].clone();
            match act {
                Act::Look => saw[window] = (running.number(), stands.clone()),
                Act::Set(at, hours) => {
                    let wanted = format!("{hours} h/day");
                    let said = running.change(base, &[(paths[at], Some(&wanted))]);
                    let is_free = seen[at] == stands[at] || stands[at] == wanted;
                    prop_assert_eq!(said.status, if is_free { 200 } else { 409 });
                    if is_free {
                        stands[at] = wanted;
                        saw[window] = (said.json()["number"].as_u64().unwrap(), stands.clone());
                    } else {
                        prop_assert_eq!(&said.json()["values"][0]["now"], &json!(stands[at]));
                    }
                }
            }
            let text = running.intent();
            for (path, value) in paths.iter().zip(&stands) {
                let path: Vec<String> = path.iter().map(|one| (*one).to_owned()).collect();
                let found = model::value_at(&text, &path).unwrap();
                prop_assert_eq!(found.as_ref(), Some(value));
            }
        }
    }
}

#[test]
fn two_windows_at_the_same_moment_lose_nothing() {
    let running = Running::start();
    let base = running.number();
    std::thread::scope(|scope| {
        for (path, name) in [(FAN, "fan"), (LIGHTS, "lights"), (USB, "usb")] {
            let running = &running;
            scope.spawn(move || {
                let mut base = base;
                for hours in 1..8 {
                    let said = running.change(base, &[(path, Some(&format!("{hours} h/day")))]);
                    assert_eq!(said.status, 200, "{name}");
                    base = said.json()["number"].as_u64().unwrap();
                }
            });
        }
    });
    assert_eq!(running.intent().matches("hours = \"7 h/day\"").count(), 3);
    let states = running.get("/api/projects/wren/states").json();
    assert_eq!(states.as_array().unwrap().iter().filter(|state| state["by"] == "page").count(), 21);
}
