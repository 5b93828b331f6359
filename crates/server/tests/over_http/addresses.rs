//! Every address, asked well and badly, over a real connection.
//! Never: asserts a time. Start at any test.

use crate::client::Running;
use serde_json::{Value, json};

const P: &str = "/api/projects/wren";

#[test]
fn a_folder_is_listed_and_grows() {
    let running = Running::start();
    let folder = running.get("/api/folder").is(200).json();
    assert_eq!(folder["projects"][0]["key"], "wren");
    assert_eq!(folder["projects"][0]["name"], "Wren");
    assert!(folder["safety"].as_str().unwrap().contains("can kill and burn"));
    let new = |name: &str, loads: bool| json!({ "name": name, "craft": "van", "voltage": "12 V", "rules": "iec", "usualLoads": loads });
    let card = running.post("/api/projects", &new("Our \"van\"", true)).is(200).json();
    assert_eq!(card["trouble"], "");
    assert_eq!(card["name"], "Our \"van\"");
    let view = running.get(&format!("/api/projects/{}/view", card["key"].as_str().unwrap())).is(200).json();
    assert!(!view["loads"].as_array().unwrap().is_empty());
    let bare = running.post("/api/projects", &new("bare", false)).is(200).json();
    let view = running.get(&format!("/api/projects/{}/view", bare["key"].as_str().unwrap())).is(200).json();
    assert_eq!(view["loads"], json!([]));
    let variant = running.post(&format!("{P}/copy"), &json!({ "name": "Lighter" })).is(200).json();
    assert_eq!((&variant["variantOf"], &variant["name"]), (&json!("wren"), &json!("Lighter")));
    assert_eq!(running.get("/api/folder").is(200).json()["projects"].as_array().unwrap().len(), 4);
    // Badly.
    for (body, status) in [
        (json!({}), 400),
        (json!({ "name": "" , "craft": "van", "voltage": "12 V", "rules": "iec", "usualLoads": true }), 400),
        (
            json!({ "name": "x".repeat(81), "craft": "van", "voltage": "12 V", "rules": "iec", "usualLoads": true }),
            400,
        ),
        (
            json!({ "name": "../x", "craft": "van", "voltage": "12 V", "rules": "iec", "usualLoads": true }),
            422,
        ),
        (
            json!({ "name": "x", "craft": "balloon", "voltage": "12 V", "rules": "iec", "usualLoads": true }),
            422,
        ),
        (json!({ "name": "x", "craft": "van", "voltage": "13 V", "rules": "iec", "usualLoads": true }), 422),
        (json!({ "name": "x", "craft": "van", "voltage": "12 V", "rules": "x", "usualLoads": true }), 422),
        (
            json!({ "name": "x", "craft": "van", "voltage": "12 V", "rules": "na", "usualLoads": true, "more": 1 }),
            400,
        ),
    ] {
        let fault = running.post("/api/projects", &body).is(status).json();
        assert!(
            !fault["message"].as_str().unwrap().is_empty() && !fault["mend"].as_str().unwrap().is_empty()
        );
    }
    running.post("/api/projects/none/copy", &json!({ "name": "x" })).is(404);
}

#[test]
fn a_view_holds_what_was_asked_for() {
    let running = Running::start();
    let bare = running.view();
    assert_eq!((&bare["key"], &bare["isTrial"]), (&json!("wren"), &json!(false)));
    assert!(
        bare["diagram"].is_null()
            && bare["energy"].is_null()
            && bare["brief"].is_null()
            && bare["circuits"].is_null()
    );
    let all = running.get(&format!("{P}/view?with=diagram,energy,brief,circuits")).is(200).json();
    assert!(
        all["diagram"]["svg"].as_str().unwrap().starts_with("<svg")
            || all["diagram"]["svg"].as_str().unwrap().starts_with("<?xml")
    );
    assert_eq!(all["energy"]["months"].as_array().unwrap().len(), 12);
    assert!(all["brief"].is_array() && all["circuits"].is_array());
    running.get(&format!("{P}/view?with=")).is(200);
    running.get(&format!("{P}/view?with=soul")).is(400);
    running.get(&format!("{P}/view?with=diagram&with=energy")).is(400);
    running.get("/api/projects/none/view").is(404);
}

#[test]
fn places_and_values_are_told_one_by_one() {
    let running = Running::start();
    let view = running.get(&format!("{P}/view?with=diagram,brief")).is(200).json();
    let place = view["diagram"]["places"][0]["id"].as_str().unwrap();
    let told = running.get(&format!("{P}/place?id={place}")).is(200).json();
    assert_eq!(told["id"], place);
    running.get(&format!("{P}/place?id=none")).is(404);
    running.get(&format!("{P}/place")).is(400);
    let circuits = running.get(&format!("{P}/view?with=circuits")).json();
    let circuit = circuits["circuits"][0]["conductors"][0].as_str().unwrap().to_owned();
    let told = running.get(&format!("{P}/place?id={circuit}")).is(200).json();
    let path = told["derived"][0]["path"].as_str().unwrap();
    assert!(!running.get(&format!("{P}/why?path={path}")).is(200).json().as_array().unwrap().is_empty());
    running.get(&format!("{P}/why?path=none.at.all")).is(404);
    for finding in view["findings"].as_array().unwrap() {
        let (rule, place) = (finding["rule"].as_str().unwrap(), finding["place"].as_str().unwrap());
        running.get(&format!("{P}/mends?rule={rule}&place={}", place.replace(' ', "%20"))).is(200);
    }
    running.get(&format!("{P}/mends?rule=none&place=none")).is(404);
    running.get(&format!("{P}/mends?rule=none")).is(400);
    assert!(running.get(&format!("{P}/questions")).is(200).json().is_array());
    let effect = |value: &str| {
        running.post(&format!("{P}/effect"), &json!([{ "path": ["loads", "fan", "hours"], "value": value }]))
    };
    assert!(effect("20 h/day").is(200).json()["goes"].is_array());
    let fault = effect("many").is(422).json();
    assert_eq!(fault["problems"][0]["file"], "intent.toml");
    assert!(fault["problems"][0]["line"].as_u64().unwrap() > 0);
    running.post(&format!("{P}/effect"), &json!([])).is(400);
    let hits = running.get("/api/parts?kind=load&words=fan").is(200).json();
    assert!(hits.as_array().unwrap().iter().any(|hit| hit["id"] == "roof-fan"), "{hits}");
    assert_eq!(running.get("/api/parts?kind=none&words=x").is(200).json(), json!([]));
    assert!(
        !running.get(&format!("{P}/fields?group=loads.fan")).is(200).json().as_array().unwrap().is_empty()
    );
    running.get(&format!("{P}/fields?group=none")).is(404);
}

#[test]
fn faults_ticks_readings_and_comparisons_are_told() {
    let running = Running::start();
    let faults = running.get(&format!("{P}/faults")).is(200).json();
    let at = faults[0]["terminal"].as_str().unwrap().to_owned();
    running.get(&format!("{P}/fault?at={at}")).is(200);
    running.get(&format!("{P}/fault?at=none")).is(404);
    let same = running.get("/api/compare?left=wren&right=wren").is(200).json();
    assert_eq!((&same["left"], &same["intent"]), (&json!("Wren"), &json!([])));
    running.get("/api/compare?left=wren&right=none").is(404);
    let build = running.get(&format!("{P}/build")).is(200).json();
    let step = build["steps"][0]["id"].as_str().unwrap();
    let tick = |id: &str, done: bool| running.post(&format!("{P}/ticks"), &json!({ "id": id, "done": done }));
    assert_eq!(tick(step, true).is(200).json()["ticked"], json!([step]));
    assert!(std::fs::read_to_string(running.file("ticks.toml")).unwrap().contains(step));
    assert_eq!(tick(step, false).is(200).json()["ticked"], json!([]));
    tick("", true).is(400);
    let lines = build["readings"].as_array().unwrap();
    let at = lines.iter().position(|line| line["unit"] == "V").unwrap();
    let reading = lines[at]["id"].as_str().unwrap();
    let take = |body: Value| running.post(&format!("{P}/readings"), &body);
    let taken = take(json!({ "id": reading, "value": "13.2 V", "note": "cold" })).is(200).json();
    assert_eq!(taken["readings"][at]["note"], "cold");
    assert_eq!(
        take(json!({ "id": reading, "value": null })).is(200).json()["readings"][at]["value"],
        Value::Null
    );
    take(json!({ "id": "none", "value": "1 V" })).is(404);
}

#[test]
fn papers_are_looked_at_and_do_nothing() {
    let running = Running::start();
    let papers = running.get(&format!("{P}/papers")).is(200).json();
    let papers = papers.as_array().unwrap();
    assert!(papers.len() > 3);
    for paper in papers {
        let name = paper["name"].as_str().unwrap();
        let said = running.get(&format!("{P}/papers/{name}")).is(200);
        assert_eq!(said.says("content-type"), paper["media"].as_str().unwrap());
        let bytes = paper["bytes"].as_u64().unwrap();
        // Pages are set when they are asked for, so their size is not listed.
        assert_eq!(bytes == 0, name.ends_with(".pdf"), "{name}");
        assert!(bytes == 0 && said.body.starts_with(b"%PDF-") || said.body.len() as u64 == bytes, "{name}");
        assert!(
            said.says("content-security-policy")
                .starts_with("sandbox allow-same-origin allow-modals; default-src 'none';")
        );
        assert!(said.says("content-disposition").contains(&format!("filename=\"{name}\"")));
    }
    for none in
        ["none.svg", "..%2Fintent.toml", "%2e%2e%2fintent.toml", "..%5cintent.toml", "intent.toml", "%00"]
    {
        running.get(&format!("{P}/papers/{none}")).is(404);
    }
}

#[test]
fn states_are_listed_and_gone_to() {
    let running = Running::start();
    let first = running.number();
    let one = running.change(first, &[(&["loads", "fan", "hours"], Some("6 h/day"))]).is(200).json();
    assert_ne!(one["number"], first);
    let states = running.get(&format!("{P}/states")).is(200).json();
    assert_eq!(states[0]["label"], "a change");
    assert_eq!((&states[0]["isNow"], &states[0]["by"]), (&json!(true), &json!("page")));
    let go = |body: &Value| running.post(&format!("{P}/go"), body);
    assert_eq!(go(&json!({ "to": "back" })).is(200).json()["number"], first);
    assert_eq!(go(&json!({ "to": "forward" })).is(200).json()["number"], one["number"]);
    assert_eq!(go(&json!({ "to": "state", "number": first })).is(200).json()["number"], first);
    go(&json!({ "to": "back" })).is(422);
    go(&json!({ "to": "state", "number": 99999 })).is(404);
    go(&json!({ "to": "state" })).is(400);
    go(&json!({ "to": "away" })).is(400);
}

#[test]
fn a_weather_file_is_read_before_it_is_kept() {
    let running = Running::start();
    let upload = |name: &str, base: u64, bytes: &[u8]| {
        let head = [("content-type", "application/octet-stream")];
        running.send("POST", &format!("{P}/weather?name={name}&base={base}"), &head, bytes)
    };
    let number = running.number();
    upload("sky.epw", number, b"LOCATION,this is none").is(422);
    upload("sky.svg", number, b"<svg/>").is(422);
    upload("sky.epw", number, b"").is(422);
    let files: Vec<_> =
        std::fs::read_dir(running.file("")).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    assert!(files.iter().all(|file| !file.to_string_lossy().starts_with("weather-")), "{files:?}");
    running
        .send("POST", &format!("{P}/weather"), &[("content-type", "application/octet-stream")], b"x")
        .is(400);
}

#[test]
fn what_is_no_address_is_told_as_such() {
    let running = Running::start();
    for path in
        ["/api", "/api/", "/api/none", "/api/projects/wren", "/api/projects/wren/", "/api/work/1/none"]
    {
        let said = running.get(path).is(404);
        assert!(said.json()["message"].is_string(), "{path}");
    }
    for (method, path) in
        [("PUT", "/api/folder"), ("DELETE", "/api/projects/wren/view"), ("POST", "/api/news")]
    {
        let said = running.send(method, path, &[("content-type", "application/json")], b"{}").is(405);
        assert!(said.json()["message"].is_string());
    }
    running.get("/api/work/7/events").is(404);
    running.get("/api/work/x/events").is(404);
    running.send("DELETE", "/api/work/7", &[], b"").is(404);
    running.post("/api/session", &json!({ "code": "AAAA" })).is(403);
    let described = running.get("/api/openapi.json").is(200).json();
    assert!(described["paths"]["/api/projects/{key}/changes"].is_object());
}
