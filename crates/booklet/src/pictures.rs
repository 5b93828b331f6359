//! Where a picture goes: beside text, on a page of its own, on its side, or as a whole with enlarged parts.
//! Never: lets print come out smaller than [`LEAST_PRINT`] where a person has to read it.
//! Start at [`drawing`].

use crate::content::{Block, PartBlock, PartsBlock, PictureBlock};
use crate::svg::{POINTS_PER_MM, Size};
use crate::tables::SIDE;
use crate::tiles::sheet_name;
use crate::window::Panes;
use crate::{BookletError, Paper, Picture};

/// Smallest print on a page \[pt\].
pub(crate) const LEAST_PRINT: f64 = 6.0;
/// Height that head, foot, title and caption of a page take \[mm\].
const FURNITURE: f64 = 62.0;
/// What neighbouring parts share \[mm\].
const SHARED: f64 = 8.0;

/// Room for a picture on a page, upright and on its side \[mm\].
fn rooms(paper: Paper) -> [(f64, f64); 2] {
    let (width, height) = paper.size_mm();
    [(width - 2.0 * SIDE, height - FURNITURE), (height - 2.0 * SIDE, width - FURNITURE)]
}

fn block(picture: &Picture, width: f64, height: f64, inline: bool, is_first: bool) -> Block {
    Block::Picture(PictureBlock {
        title: picture.title.clone(),
        caption: picture.caption.clone(),
        svg: picture.svg.clone(),
        width,
        height,
        inline,
        is_first,
    })
}

/// A chart: as wide as it need be for its print.
pub(crate) fn chart(picture: &Picture, paper: Paper) -> Result<Block, BookletError> {
    let size = Size::of(&picture.name, &picture.svg)?;
    let [(width, height), _] = rooms(paper);
    // Two charts go on a page.
    let scale = size.scale_into(width * 0.78, height * 0.36);
    Ok(block(picture, size.width_mm * scale, size.height_mm * scale, true, false))
}

/// A drawing, so large that its print can be read.
pub(crate) fn drawing(picture: &Picture, is_first: bool, paper: Paper) -> Result<Vec<Block>, BookletError> {
    let size = Size::of(&picture.name, &picture.svg)?;
    let [upright, lying] = rooms(paper);
    let print = |scale: f64| size.smallest_mm * scale * POINTS_PER_MM;
    let is_read = |scale: f64| size.smallest_mm == 0.0 || print(scale) >= LEAST_PRINT;
    let most = if size.is_true { 1.0 } else { 4.0 };
    let fit = |room: (f64, f64)| size.scale_into(room.0, room.1).min(most);
    let placed = |scale: f64| block(picture, size.width_mm * scale, size.height_mm * scale, false, is_first);
    // At its true size or nearly so, upright pages are handier; else the way that shows it larger.
    let (up, side) = (fit(upright), fit(lying));
    if is_read(up) && (up >= 0.999 || up >= side) {
        return Ok(vec![placed(up)]);
    }
    if is_read(side) {
        return Ok(vec![Block::Landscape { blocks: vec![placed(side)] }]);
    }
    if is_read(up) {
        return Ok(vec![placed(up)]);
    }
    let whole = |up: f64, side: f64| {
        if side > up { Block::Landscape { blocks: vec![placed(side)] } } else { placed(up) }
    };
    // The board has sheets of its own in full size, so here it is a guide to them.
    if picture.name == BOARD {
        return Ok(vec![whole(up, side)]);
    }
    // The whole as a guide, then parts at a size that can be read.
    let scale = LEAST_PRINT / (size.smallest_mm * POINTS_PER_MM);
    let (width, height) = (size.width_mm * scale, size.height_mm * scale);
    let count = |length: f64, room: f64| ((length - SHARED) / (room - SHARED)).ceil().max(1.0);
    let sheets = |room: (f64, f64)| count(width, room.0) * count(height, room.1);
    // What the sheets leave over enlarges the parts.
    let spare = |room: (f64, f64)| {
        let (across, down) = (count(width, room.0), count(height, room.1));
        let spare = (across * (room.0 - SHARED) + SHARED) / width;
        spare.min((down * (room.1 - SHARED) + SHARED) / height)
    };
    let is_landscape = match sheets(lying).total_cmp(&sheets(upright)) {
        std::cmp::Ordering::Equal => spare(lying) > spare(upright),
        order => order.is_lt(),
    };
    let room = if is_landscape { lying } else { upright };
    let (across, down) = (count(width, room.0), count(height, room.1));
    let larger = (scale * spare(room)).min(most.max(scale)) / scale;
    let (width, height) = (width * larger, height * larger);
    let (step_across, step_down) = ((width - SHARED) / across, (height - SHARED) / down);
    if across * down > MOST_PARTS {
        return Err(BookletError::TooMany {
            name: picture.name.clone(),
            count: (across * down) as u64,
            most: MOST_PARTS as u64,
        });
    }
    let window = [step_across + SHARED, step_down + SHARED];
    let panes = Panes::of(&picture.name, &picture.svg)?;
    let mut list = Vec::new();
    for row in 0..down as usize {
        for column in 0..across as usize {
            let (left, top) = (column as f64 * step_across / width, row as f64 * step_down / height);
            let svg = panes.window(left, top, window[0] / width, window[1] / height);
            list.push(PartBlock { name: sheet_name(row, column), svg });
        }
    }
    let parts = Block::Parts(PartsBlock { title: picture.title.clone(), is_landscape, window, list });
    Ok(vec![whole(up, side), parts])
}

/// The drawing that is printed at 1:1 besides.
const BOARD: &str = "board";
/// Most parts of one drawing; more than a person finds their way through.
const MOST_PARTS: f64 = 60.0;

/// A picture that is a sheet by itself, such as one of labels: at its true size, without head and foot, where it is made
/// for this paper.
pub(crate) fn true_size(picture: &Picture, is_first: bool, paper: Paper) -> Result<Block, BookletError> {
    let size = Size::of(&picture.name, &picture.svg)?;
    let (width, height) = paper.size_mm();
    if (size.width_mm - width).abs() < 1.0 && (size.height_mm - height).abs() < 1.0 {
        let (title, svg) = (picture.title.clone(), picture.svg.clone());
        return Ok(Block::Sheet { title, svg, width: size.width_mm, height: size.height_mm });
    }
    let [upright, _] = rooms(paper);
    let scale = size.scale_into(upright.0, upright.1).min(1.0);
    Ok(block(picture, size.width_mm * scale, size.height_mm * scale, false, is_first))
}
