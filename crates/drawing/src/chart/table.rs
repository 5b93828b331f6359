//! The table under a picture of designs: what each number in the picture stands for.
//! Never: leaves a design out without saying so.
//! Start at [`table`].

use super::pen::{At, Pen, RIGHT, SMALL};
use crate::text::wrap;

/// Most rows of the table.
pub const ROWS: usize = 30;

/// One design: number, name, cost, chance and mass as text.
pub struct Row {
    pub number: usize,
    pub name: String,
    pub facts: [String; 3],
}

/// The table from `y` down.
pub fn table(pen: &mut Pen, y: f64, heads: [&str; 3], rows: &[Row]) -> f64 {
    const ENDS: [f64; 3] = [RIGHT - 104.0, RIGHT - 52.0, RIGHT];
    let bold = " font-weight=\"bold\"";
    pen.set([24.0, y], At::Start, "design", SMALL, bold);
    for (head, x) in heads.iter().zip(ENDS) {
        pen.set([x, y], At::End, head, SMALL, bold);
    }
    let mut y = y + 12.5;
    for row in rows.iter().take(ROWS) {
        pen.set([19.0, y], At::End, &row.number.to_string(), SMALL, "");
        for (fact, x) in row.facts.iter().zip(ENDS) {
            pen.set([x, y], At::End, fact, SMALL, "");
        }
        for line in wrap(&row.name, SMALL, false, 175.0, 2) {
            pen.set([24.0, y], At::Start, &line, SMALL, "");
            y += 11.0;
        }
        y += 1.5;
    }
    if rows.len() > ROWS {
        let more = format!("and {} more of the front, numbered in the picture only", rows.len() - ROWS);
        pen.set([24.0, y], At::Start, &more, SMALL, "");
        y += 12.5;
    }
    y
}
