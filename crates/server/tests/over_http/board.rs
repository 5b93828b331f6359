//! The mounting board over a connection: moved on trial, kept by a change, and searched anew behind an edit.
//! Never: asserts a time. Start at any test.

use crate::client::Running;
use serde_json::{Value, json};

const P: &str = "/api/projects/wren";

fn board(running: &Running) -> Value {
    running.get(&format!("{P}/board")).is(200).json()
}

#[test]
fn a_move_is_tried_kept_and_taken_back() {
    let running = Running::start();
    let before = running.intent();
    let proposed = board(&running);
    assert_eq!((&proposed["isDesigned"], &proposed["isDue"]), (&json!(false), &json!(false)));
    let devices = proposed["devices"].as_array().unwrap();
    let (first, second) = (&devices[0], &devices[1]);
    let wanted =
        json!({ "id": first["id"], "xMm": second["area"]["xMm"], "yMm": second["area"]["yMm"], "turn": 0 });
    let tried = running.post(&format!("{P}/board/moved"), &wanted).is(200).json();
    assert_eq!(running.intent(), before);
    let overlaps = |board: &Value| {
        board["findings"].as_array().unwrap().iter().any(|found| found["rule"] == "board-devices-overlap")
    };
    assert!(overlaps(&tried) && !overlaps(&proposed));
    assert!(!tried["devices"][0]["wrong"].as_array().unwrap().is_empty());
    // What the page sends to keep it.
    let change = json!({ "base": running.number(), "label": "place", "edits": tried["keep"] });
    let view = running.post(&format!("{P}/changes"), &change).is(200).json();
    let kept = board(&running);
    assert_eq!(
        (&kept["isDesigned"], &kept["isDue"], &kept["keep"]),
        (&json!(true), &json!(false), &json!([]))
    );
    assert_eq!(kept["devices"][0]["area"], tried["devices"][0]["area"]);
    assert!(kept["devices"].as_array().unwrap().iter().all(|device| device["isPinned"] == true));
    // What is wrong on a designed board stands among the findings too.
    let found = view["findings"].as_array().unwrap();
    assert!(found.iter().any(|found| found["rule"] == "board-devices-overlap"));
    running.post(&format!("{P}/go"), &json!({ "to": "back" })).is(200);
    assert_eq!(running.intent(), before);
    for (id, turn, status) in [("none", 0, 404), ("", 0, 400), ("x", 45, 400), ("x", 360, 400)] {
        let wanted = json!({ "id": id, "xMm": 0, "yMm": 0, "turn": turn });
        running.post(&format!("{P}/board/moved"), &wanted).is(status);
    }
    // Far off is told as outside, and nothing breaks.
    let far = json!({ "id": first["id"], "xMm": i32::MAX, "yMm": i32::MIN, "turn": 270 });
    running.post(&format!("{P}/board/moved"), &far).is(200);
}

#[test]
fn places_that_an_edit_leaves_due_are_searched_behind_it() {
    let running = Running::start();
    let mut news = running.events("/api/news");
    running
        .change(
            running.number(),
            &[(&["board", "width"][..], Some("900 mm")), (&["board", "height"], Some("700 mm"))],
        )
        .is(200);
    let told = news.find(|news| news["by"] == "board").unwrap();
    assert_eq!(told["number"], json!(running.number()));
    let placed = board(&running);
    assert_eq!((&placed["isDesigned"], &placed["isDue"]), (&json!(true), &json!(false)));
    assert_eq!(placed["widthMm"], 900);
    assert!(!placed["changes"].as_array().unwrap().is_empty());
}
