//! The DXF files as an independent library reads them: ezdxf, a general library for DXF (checks/ezdxf/setup puts it into target).
//! Never: reads DXF itself.
//! Start at [`a_drawing_program_reads_the_board`].

mod drawn;

use std::path::{Path, PathBuf};
use std::process::Command;

use drawing::{board_dxf, wiring_dxf};
use drawn::examples;
use serde_json::Value;

const LAYERS: [&str; 9] =
    ["0", "CABLES", "DEVICES", "DIMENSIONS", "HOLES", "KEEP-OUT", "OUTLINE", "SHEET", "TEXT"];

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// What ezdxf finds in a file.
fn read(name: &str, bytes: &[u8]) -> Value {
    let python = root().join("target/ezdxf/bin/python");
    assert!(
        python.exists(),
        "{} is missing: run checks/ezdxf/setup (scripts/test does), it makes target/ezdxf with the versions of \
         checks/ezdxf/requirements.txt",
        python.display()
    );
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("drawing.dxf");
    std::fs::write(&file, bytes).expect("a file");
    let output = Command::new(python)
        .arg(root().join("checks/ezdxf/read.py"))
        .arg(&file)
        .output()
        .expect("target/ezdxf/bin/python starts; if not, delete target/ezdxf and run checks/ezdxf/setup");
    assert!(output.status.success(), "{name}: {}", String::from_utf8_lossy(&output.stderr));
    let found: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    assert_eq!(found["errors"], serde_json::json!([]), "{name}: errors of the audit");
    assert_eq!(found["fixes"], serde_json::json!([]), "{name}: fixes of the audit");
    assert_eq!(found["units"], 4, "{name}: millimetres");
    assert_eq!(found["layers"], serde_json::json!(LAYERS), "{name}");
    found
}

fn close(a: &Value, b: f64) -> bool {
    a.as_f64().is_some_and(|a| (a - b).abs() < 1e-6)
}

#[test]
fn a_drawing_program_reads_the_board() {
    for (name, system, layout) in examples() {
        let bytes = board_dxf(&layout, &system);
        assert_eq!(bytes, board_dxf(&layout, &system), "{name}: the same bytes");
        let found = read(name, &bytes);
        let (width, height) = layout.plan.outline.extent();
        let outline = &found["extents"]["OUTLINE"];
        for (at, wanted) in [0.0, 0.0, f64::from(width), f64::from(height)].into_iter().enumerate() {
            assert!(close(&outline[at], wanted), "{name}: the outline reaches {outline}");
        }
        let circles = found["circles"].as_array().expect("circles");
        let holes: Vec<&Value> = circles.iter().filter(|circle| circle[0] == "HOLES").collect();
        assert_eq!(holes.len(), layout.holes.len(), "{name}");
        for (hole, circle) in layout.holes.iter().zip(holes) {
            let is_same = close(&circle[1], f64::from(hole.x_mm))
                && close(&circle[2], f64::from(hole.y_mm))
                && close(&circle[3], hole.diameter.get() * 1000.0);
            assert!(is_same, "{name}: {circle} is not {hole:?}");
        }
        // Every device as the closed line of its footprint.
        let closed = found["closed"].as_array().expect("closed lines");
        for placed in &layout.devices {
            let rect = placed.rect;
            let is_there = closed.iter().filter(|line| line[0] == "DEVICES").any(|line| {
                let corners = line[1].as_array().expect("corners");
                let has = |x: i32, y: i32| {
                    corners.iter().any(|c| close(&c[0], f64::from(x)) && close(&c[1], f64::from(y)))
                };
                corners.len() == 4
                    && has(rect.x_mm, rect.y_mm)
                    && has(rect.right(), rect.y_mm)
                    && has(rect.right(), rect.top())
                    && has(rect.x_mm, rect.top())
            });
            assert!(is_there, "{name}: {} is not drawn at its place", placed.id);
        }
        let texts = found["texts"].as_array().expect("texts");
        for word in ["+", "\u{2212}", "Mounting board"] {
            assert!(texts.iter().any(|text| text[1] == word), "{name}: {word}");
        }
    }
}

#[test]
fn a_drawing_program_reads_the_wiring() {
    for (name, system, _) in examples() {
        let bytes = wiring_dxf(&system);
        assert_eq!(bytes, wiring_dxf(&system), "{name}: the same bytes");
        let found = read(name, &bytes);
        let texts: Vec<&str> =
            found["texts"].as_array().expect("texts").iter().filter_map(|text| text[1].as_str()).collect();
        for device in &system.devices {
            let first = device.title.split(' ').next().expect("a word");
            assert!(texts.iter().any(|text| text.contains(first)), "{name}: {}", device.id);
        }
        for conductor in system.conductors.iter().filter(|conductor| !conductor.is_internal) {
            let head = format!("{} ", conductor.number);
            assert!(texts.iter().any(|text| text.starts_with(&head)), "{name}: {}", conductor.id);
        }
    }
}
