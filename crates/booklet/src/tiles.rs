//! Pictures at their true size: one a sheet, or one over as many sheets as it needs.
//! Never: scales. What is 100 mm in the picture is 100 mm on paper.
//! Start at [`sheets`] and [`tiled`].

use serde::Serialize;

use crate::press::{Template, press};
use crate::svg::Size;
use crate::window::Panes;
use crate::{BookletError, Paper};

const SHEETS: Template = Template { name: "/sheets.typ", text: include_str!("sheets.typ") };
const TILED: Template = Template { name: "/tiled.typ", text: include_str!("tiled.typ") };

/// Margin that no printer needs \[mm\].
const MARGIN: f64 = 10.0;
/// Foot of a sheet, with check bar and map \[mm\].
const FOOT: f64 = 24.0;
/// What neighbouring sheets both show \[mm\].
const SHARED: f64 = 10.0;
/// Most sheets of one drawing.
const MOST: u64 = 400;

/// Name of a sheet by its row and column, from 0: `B3`.
pub(crate) fn sheet_name(row: usize, column: usize) -> String {
    let mut letters = String::new();
    let mut left = row;
    loop {
        letters.insert(0, char::from(b'A' + u8::try_from(left % 26).unwrap_or(0)));
        match left / 26 {
            0 => break,
            more => left = more - 1,
        }
    }
    format!("{letters}{}", column + 1)
}

#[derive(Serialize)]
struct SheetsData<'p> {
    paper: [f64; 2],
    plain: &'p str,
    list: Vec<SheetData<'p>>,
}

#[derive(Serialize)]
struct SheetData<'p> {
    svg: &'p str,
    size: [f64; 2],
    is_landscape: bool,
}

/// Pictures on sheets of their own at their true size: labels, door cards.
///
/// A picture as large as the sheet fills it; a smaller one stands in its middle; a wide one turns the sheet.
///
/// # Errors
/// A picture that is no SVG, has no size, or is larger than the sheet.
pub fn sheets(svgs: &[String], title: &str, paper: Paper) -> Result<Vec<u8>, BookletError> {
    let (width, height) = paper.size_mm();
    let mut list = Vec::new();
    for (at, svg) in svgs.iter().enumerate() {
        let name = format!("{title} {}", at + 1);
        let size = Size::of(&name, svg)?;
        // Half a millimetre of slack: a picture for the sheet may round its size.
        let fits = |width: f64, height: f64| size.width_mm <= width + 0.5 && size.height_mm <= height + 0.5;
        let is_landscape = !fits(width, height);
        if is_landscape && !fits(height, width) {
            return Err(BookletError::TooLarge {
                name,
                width_mm: size.width_mm.ceil() as u64,
                height_mm: size.height_mm.ceil() as u64,
                paper: paper.word(),
            });
        }
        list.push(SheetData { svg, size: [size.width_mm, size.height_mm], is_landscape });
    }
    press(&SHEETS, &SheetsData { paper: [width, height], plain: title, list })
}

#[derive(Serialize)]
struct TiledData<'p> {
    paper: [f64; 2],
    plain: &'p str,
    title: &'p str,
    is_landscape: bool,
    margin: f64,
    shared: f64,
    /// From one sheet to the next \[mm\].
    step: [f64; 2],
    columns: usize,
    rows: usize,
    list: Vec<TileData>,
}

/// A sheet of a large drawing.
#[derive(Serialize)]
struct TileData {
    name: String,
    column: usize,
    row: usize,
    /// What shows on it: the window begins half a shared strip before the cell, so that neighbours show the strip both.
    svg: String,
}

/// How a drawing lies over sheets.
struct Grid {
    step: [f64; 2],
    columns: u64,
    rows: u64,
    is_landscape: bool,
}

impl Grid {
    fn of(size: &Size, (width, height): (f64, f64), is_landscape: bool) -> Self {
        let (width, height) = if is_landscape { (height, width) } else { (width, height) };
        let step = [width - 2.0 * MARGIN - SHARED, height - 2.0 * MARGIN - FOOT - SHARED];
        let count = |length: f64, step: f64| (length / step).ceil().max(1.0) as u64;
        Self {
            step,
            columns: count(size.width_mm, step[0]),
            rows: count(size.height_mm, step[1]),
            is_landscape,
        }
    }

    fn count(&self) -> u64 {
        self.columns.saturating_mul(self.rows)
    }
}

/// A drawing of any size at 1:1 over as many sheets as it needs, to be glued together.
///
/// Neighbouring sheets share a strip with crosses at the same points; each sheet has its name in a map, and a bar of
/// 100 mm to be measured before the drawing is used.
///
/// # Errors
/// A picture that is no SVG, has no size in mm, or needs more than 400 sheets.
pub fn tiled(svg: &str, title: &str, paper: Paper) -> Result<Vec<u8>, BookletError> {
    let size = Size::of(title, svg)?;
    if !size.is_true {
        return Err(BookletError::Picture {
            name: title.to_owned(),
            reason: "its root has no width and height in mm, so that 1:1 means nothing".to_owned(),
        });
    }
    let sheet = paper.size_mm();
    let (upright, lying) = (Grid::of(&size, sheet, false), Grid::of(&size, sheet, true));
    let grid = if lying.count() < upright.count() { lying } else { upright };
    if grid.count() > MOST {
        return Err(BookletError::TooMany { name: title.to_owned(), count: grid.count(), most: MOST });
    }
    let (columns, rows) = (grid.columns as usize, grid.rows as usize);
    let panes = Panes::of(title, svg)?;
    let tile = |row: usize, column: usize| TileData {
        name: sheet_name(row, column),
        column,
        row,
        svg: panes.window(
            (column as f64 * grid.step[0] - SHARED / 2.0) / size.width_mm,
            (row as f64 * grid.step[1] - SHARED / 2.0) / size.height_mm,
            (grid.step[0] + SHARED) / size.width_mm,
            (grid.step[1] + SHARED) / size.height_mm,
        ),
    };
    let list = (0..rows).flat_map(|row| (0..columns).map(move |column| (row, column)));
    let list = list.map(|(row, column)| tile(row, column)).collect();
    let data = TiledData {
        paper: [sheet.0, sheet.1],
        plain: title,
        title,
        is_landscape: grid.is_landscape,
        margin: MARGIN,
        shared: SHARED,
        step: grid.step,
        columns,
        rows,
        list,
    };
    press(&TILED, &data)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sheets_are_named_like_a_map() {
        assert_eq!(sheet_name(0, 0), "A1");
        assert_eq!(sheet_name(1, 9), "B10");
        assert_eq!(sheet_name(26, 2), "AA3");
    }
}
