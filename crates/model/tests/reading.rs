//! Reading a project: every error at once, each located, each with the way to mend it; edits keep the person's own text.

use model::{Edit, Intent, Problem, Project, SourceText, library, read::read_text, read::text_from_bytes};

fn source(text: &str) -> SourceText {
    SourceText { name: "intent.toml".to_owned(), text: text.to_owned() }
}

fn problems(text: &str) -> Vec<Problem> {
    Project::read(source(text), library::builtin().clone()).err().unwrap_or_default()
}

const BRIEF: &str = "[brief]\nname = \"Test\"\ncraft = \"van\"\nrules = \"na\"\nvoltage = \"12 V\"\n";

#[test]
fn all_errors_are_reported_at_once_with_their_lines() {
    let text = "[brief]\nname = \"Test\"\ncraft = \"vann\"\nrules = \"na\"\nvoltage = \"12 A\"\n\
        [loads.lamp]\npowr = \"10 W\"\nhours = \"2\"\ncount = -3\nlength = \"1,5 m\"\n";
    let found = problems(text);
    let at = |line: usize| {
        found.iter().find(|problem| problem.line == line).unwrap_or_else(|| panic!("{line}: {found:#?}"))
    };
    assert!(at(3).mend.contains("van"), "{}", at(3).mend);
    assert!(at(5).message.contains("voltage"), "{}", at(5).message);
    assert!(at(7).mend.contains("`power`"), "{}", at(7).mend);
    assert!(at(8).message.contains("unit"), "{}", at(8).message);
    assert!(at(9).message.contains("whole number"), "{}", at(9).message);
    assert!(at(10).message.contains("1.5"), "{}", at(10).message);
}

#[test]
fn a_reference_to_nothing_names_the_nearest() {
    let found = problems(&format!(
        "{BRIEF}[zones.cabin]\n[loads.lamp]\npower = \"5 W\"\nzone = \"cabn\"\npart = \"led-sopt\"\n"
    ));
    assert!(
        found.iter().any(|problem| problem.field == "loads.lamp.zone" && problem.mend.contains("`cabin`")),
        "{found:#?}"
    );
    assert!(
        found.iter().any(|problem| problem.field == "loads.lamp.part" && problem.mend.contains("`led-spot`")),
        "{found:#?}"
    );
}

#[test]
fn broken_toml_is_located_and_the_rest_is_still_read() {
    let found = problems(&format!("{BRIEF}[loads.lamp]\npower = \nhours = \"two\"\n"));
    assert!(found.iter().any(|problem| problem.line == 7), "{found:#?}");
    assert!(found.iter().any(|problem| problem.line == 8), "{found:#?}");
}

#[test]
fn a_duplicate_name_is_an_error() {
    let found = problems(&format!("{BRIEF}[loads.lamp]\npower = \"5 W\"\n[loads.lamp]\npower = \"6 W\"\n"));
    assert!(!found.is_empty());
}

#[test]
fn bytes_that_are_not_text_are_located() {
    let problem = text_from_bytes("intent.toml", b"[brief]\nname = \"\xff\"\n".to_vec()).unwrap_err();
    assert_eq!((problem.line, problem.column), (2, 9));
}

#[test]
fn an_edit_keeps_comments_and_order() {
    let text =
        format!("# mine\n{BRIEF}\n# the lamp\n[loads.lamp]\npower = \"5 W\" # measured\nlength = \"2 m\"\n");
    let project = Project::read(source(&text), library::builtin().clone()).unwrap();
    let changed = project
        .with_edits(&[
            Edit::set("loads.lamp.power", "6 W"),
            Edit::pin("lamp.positive.gauge", Some("14 AWG".to_owned())),
        ])
        .unwrap();
    let text = &changed.source.text;
    assert!(text.starts_with("# mine\n"), "{text}");
    assert!(text.contains("# the lamp\n[loads.lamp]\npower = \"6 W\" # measured\n"), "{text}");
    assert_eq!(changed.intent.pins.0.get("lamp.positive.gauge").map(String::as_str), Some("14 AWG"));
    let back = changed.with_edits(&[Edit::pin("lamp.positive.gauge", None)]).unwrap();
    assert!(back.intent.pins.0.is_empty());
}

#[test]
fn pins_may_be_quoted_or_nested() {
    for pins in [
        "[pins]\n\"a.b.gauge\" = \"10 AWG\"\n",
        "[pins.a.b]\ngauge = \"10 AWG\"\n",
        "[pins]\na.b.gauge = \"10 AWG\"\n",
    ] {
        let reading = read_text::<Intent>(&source(&format!("{BRIEF}{pins}")));
        let intent = reading.value.unwrap();
        assert_eq!(intent.pins.0.get("a.b.gauge").map(String::as_str), Some("10 AWG"), "{pins}");
        assert!(reading.spans.has("pins.a.b.gauge"), "{pins}");
    }
}

#[test]
fn the_schema_knows_the_same_keys_as_the_reader() {
    let schema = serde_json::to_value(schemars::schema_for!(Intent)).unwrap();
    let keys = |value: &serde_json::Value| -> Vec<String> {
        value["properties"].as_object().map(|map| map.keys().cloned().collect()).unwrap_or_default()
    };
    assert_eq!(keys(&schema), Intent::KEYS);
    assert_eq!(keys(&schema["$defs"]["LoadIntent"]), model::LoadIntent::KEYS);
    assert_eq!(schema["$defs"]["LoadIntent"]["additionalProperties"], serde_json::json!(false));
    // The fields that the reader requires are those that the schema requires.
    assert_eq!(schema["required"], serde_json::json!(["brief"]));
}

#[test]
fn an_answer_without_a_reason_is_refused() {
    let found = problems(&format!(
        "{BRIEF}[[answers]]\nrule = \"protection-too-far\"\nplace = \"main.fuse\"\nreason = \"  \"\n"
    ));
    assert_eq!(found.len(), 1, "{found:#?}");
    assert_eq!((found[0].line, found[0].field.as_str()), (9, "answers[0].reason"));
}
