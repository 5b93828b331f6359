//! Work that takes longer: it is told as it goes, can be stopped, is stopped when nobody listens, and holds up no edit.
//! Never: asserts a time. Start at any test.

use std::time::Duration;

use crate::client::Running;
use serde_json::{Value, json};

fn begin(running: &Running, body: &Value) -> u64 {
    running.post("/api/projects/wren/work", body).is(200).json()["id"].as_u64().unwrap()
}

fn events(running: &Running, id: u64) -> Vec<Value> {
    running.events(&format!("/api/work/{id}/events")).collect()
}

#[test]
fn many_years_end_with_what_came_of_them() {
    let running = Running::start();
    let id = begin(&running, &json!({ "kind": "years", "count": 40 }));
    let told = events(&running, id);
    let last = told.last().unwrap();
    assert_eq!((&last["kind"], &last["outcome"]["count"]), (&json!("years"), &json!(40)));
    assert!(told.iter().rev().skip(1).all(|event| event["kind"] == "progress"));
    // One that comes late hears the end.
    assert_eq!(events(&running, id), vec![last.clone()]);
}

#[test]
fn work_is_stopped_and_edits_go_on_beside_it() {
    let running = Running::start();
    let id = begin(&running, &json!({ "kind": "years", "count": 100_000 }));
    let mut told = running.events(&format!("/api/work/{id}/events"));
    assert_eq!(told.next().unwrap()["kind"], "progress");
    let number = running.number();
    running.change(number, &[(&["loads", "fan", "hours"], Some("6 h/day"))]).is(200);
    assert_eq!(told.next().unwrap()["kind"], "progress", "it goes on while an edit was made");
    running.send("DELETE", &format!("/api/work/{id}"), &[], b"").is(204);
    assert_eq!(told.last().unwrap()["kind"], "stopped");
}

#[test]
fn work_that_nobody_listens_to_is_given_up() {
    let running = Running::with(Duration::from_millis(300));
    let id = begin(&running, &json!({ "kind": "years", "count": 100_000 }));
    std::thread::sleep(Duration::from_millis(1500));
    assert_eq!(events(&running, id).last().unwrap()["kind"], "stopped");
}

#[test]
fn work_is_bounded() {
    let running = Running::start();
    for body in [
        json!({ "kind": "years", "count": 0 }),
        json!({ "kind": "years", "count": 100_001 }),
        json!({ "kind": "sizes", "years": 1001 }),
        json!({ "kind": "other" }),
        json!({ "kind": "years" }),
    ] {
        running.post("/api/projects/wren/work", &body).is(400);
    }
    let long = json!({ "kind": "years", "count": 100_000 });
    let ids: Vec<u64> = (0..4).map(|_| begin(&running, &long)).collect();
    running.post("/api/projects/wren/work", &long).is(429);
    for id in ids {
        running.send("DELETE", &format!("/api/work/{id}"), &[], b"").is(204);
        assert_eq!(events(&running, id).last().unwrap()["kind"], "stopped");
    }
    begin(&running, &json!({ "kind": "years", "count": 1 }));
}
