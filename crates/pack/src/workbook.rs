//! The schedules as one workbook: a cover, then a sheet each, ready to filter and to print.
//! Never: holds a number that the CSV files do not; totals are formulas with the same result.
//! Start at [`workbook_of`].

use reference::RuleSet;
use rust_xlsxwriter::{
    Color, DocProperties, ExcelDateTime, Format, FormatAlign, FormatBorder, Formula, Workbook, Worksheet,
    XlsxError, utility,
};

use crate::PackError;
use crate::table::{Cell, Table};

const INK: Color = Color::RGB(0x2B2A26);
const PAPER: Color = Color::RGB(0xF6F1E4);
const ACCENT: Color = Color::RGB(0x9C4A1A);
const RULE: Color = Color::RGB(0xC9BFA8);
/// Characters across a landscape page that still read well in print; a wider table goes over two pages side by side.
const PAGE_WIDTH: f64 = 200.0;
/// Longest text of one cell in this file format.
const LONGEST_TEXT: usize = 32_767;
/// A footer may have 255 characters in this file format, so it carries the short form of the safety note.
const FOOTER: &str = "&L&8Mains voltage and large batteries can kill and burn. Local codes and a licensed \
                      electrician decide. Checks what it was told, not what was built.&R&8&A, page &P of &N";

/// What stands on the first sheet: pairs of a head and its text.
pub type Cover = Vec<(String, String)>;

/// The bytes of the workbook. The same tables give the same bytes.
pub fn workbook_of(
    title: &str,
    rules: RuleSet,
    cover: &Cover,
    tables: &[&Table],
) -> Result<Vec<u8>, PackError> {
    write(title, rules, cover, tables)
        .map_err(|error| PackError::Table { file: "schedules.xlsx".to_owned(), reason: error.to_string() })
}

fn write(title: &str, rules: RuleSet, cover: &Cover, tables: &[&Table]) -> Result<Vec<u8>, XlsxError> {
    let mut workbook = Workbook::new();
    // A fixed date: the same project gives the same bytes on every day.
    let made = ExcelDateTime::from_ymd(2000, 1, 1)?;
    workbook.set_properties(&DocProperties::new().set_title(held(title)).set_creation_datetime(&made));
    let mut first = Worksheet::new();
    write_cover(&mut first, title, cover)?;
    set_up_page(&mut first, rules);
    first.set_print_fit_to_pages(1, 0);
    workbook.push_worksheet(first);
    for table in tables {
        let mut sheet = Worksheet::new();
        write_table(&mut sheet, table)?;
        set_up_page(&mut sheet, rules);
        workbook.push_worksheet(sheet);
    }
    workbook.save_to_buffer()
}

fn set_up_page(sheet: &mut Worksheet, rules: RuleSet) {
    const LETTER: u8 = 1;
    const A4: u8 = 9;
    sheet.set_landscape();
    sheet.set_paper_size(match rules {
        RuleSet::Na => LETTER,
        RuleSet::Iec => A4,
    });
    sheet.set_footer(FOOTER);
    sheet.set_screen_gridlines(false);
    sheet.set_margins(0.4, 0.4, 0.5, 0.7, 0.3, 0.3);
}

fn base() -> Format {
    Format::new().set_font_name("Arial").set_font_size(10).set_font_color(INK).set_align(FormatAlign::Top)
}

fn write_cover(sheet: &mut Worksheet, title: &str, cover: &Cover) -> Result<(), XlsxError> {
    sheet.set_name("Read first")?;
    sheet.set_tab_color(ACCENT);
    sheet.set_column_width(0, 24)?;
    sheet.set_column_width(1, 110)?;
    let large = base().set_font_size(18).set_bold().set_font_color(ACCENT);
    sheet.write_string_with_format(0, 0, held(title), &large)?;
    let head = base().set_bold().set_border_bottom(FormatBorder::Hair).set_border_bottom_color(RULE);
    let text = base().set_text_wrap().set_border_bottom(FormatBorder::Hair).set_border_bottom_color(RULE);
    for (row, (name, value)) in (2u32..).zip(cover) {
        sheet.write_string_with_format(row, 0, held(name), &head)?;
        sheet.write_string_with_format(row, 1, held(value), &text)?;
    }
    Ok(())
}

fn write_table(sheet: &mut Worksheet, table: &Table) -> Result<(), XlsxError> {
    sheet.set_name(table.title)?;
    let head = base()
        .set_bold()
        .set_font_color(Color::White)
        .set_background_color(INK)
        .set_text_wrap()
        .set_align(FormatAlign::VerticalCenter);
    let stripe = |format: Format, is_odd: bool| {
        if is_odd { format.set_background_color(PAPER) } else { format }
    };
    let lined = || base().set_border_bottom(FormatBorder::Hair).set_border_bottom_color(RULE);
    let text = [false, true].map(|is_odd| stripe(lined().set_text_wrap(), is_odd));
    let number_formats: Vec<String> =
        table.columns.iter().map(|column| number_format(column.decimals)).collect();
    let numbers: Vec<[Format; 2]> = number_formats
        .iter()
        .map(|format| {
            let format = lined().set_num_format(format).set_align(FormatAlign::Right);
            [stripe(format.clone(), false), stripe(format, true)]
        })
        .collect();

    sheet.set_row_height(0, 32)?;
    for (ix, column) in (0u16..).zip(&table.columns) {
        sheet.set_column_width(ix, column.width)?;
        sheet.write_string_with_format(0, ix, column.title(), &head)?;
    }
    let mut row_ix = 0u32;
    for row in &table.rows {
        row_ix += 1;
        let is_odd = usize::from(row_ix.is_multiple_of(2));
        for (ix, (cell, formats)) in (0u16..).zip(row.iter().zip(&numbers)) {
            match cell {
                Cell::Empty => sheet.write_blank(row_ix, ix, &text[is_odd])?,
                Cell::Text(words) => {
                    sheet.write_string_with_format(row_ix, ix, held(words), &text[is_odd])?
                }
                Cell::Number(number) => {
                    sheet.write_number_with_format(row_ix, ix, *number, &formats[is_odd])?
                }
            };
        }
    }
    let last_row = row_ix;
    let last_column = u16::try_from(table.columns.len().saturating_sub(1)).unwrap_or(u16::MAX);
    if last_row > 0 {
        // The totals stay out of the filter, so that sorting leaves them at the foot.
        sheet.autofilter(0, 0, last_row, last_column)?;
    }
    if table.has_totals() && last_row > 0 {
        let foot = base().set_bold().set_border_top(FormatBorder::Medium).set_border_top_color(INK);
        for (ix, column) in (0u16..).zip(&table.columns) {
            if column.has_total {
                let letter = utility::column_number_to_name(ix);
                let decimals = usize::from(column.decimals);
                let result = format!("{:.decimals$}", table.total(usize::from(ix)));
                let sum = Formula::new(format!("=ROUND(SUM({letter}2:{letter}{}),{decimals})", last_row + 1));
                let format = foot.clone().set_num_format(number_format(column.decimals));
                sheet.write_formula_with_format(last_row + 1, ix, sum.set_result(result), &format)?;
            } else if ix == 0 {
                sheet.write_string_with_format(last_row + 1, ix, "total", &foot)?;
            } else {
                sheet.write_blank(last_row + 1, ix, &foot)?;
            }
        }
    }
    let width: f64 = table.columns.iter().map(|column| column.width).sum();
    if width <= PAGE_WIDTH {
        sheet.set_print_fit_to_pages(1, 0);
    } else {
        sheet.set_print_fit_to_pages(2, 0);
        sheet.set_repeat_columns(0, 1)?;
    }
    sheet.set_freeze_panes(1, 0)?;
    sheet.set_repeat_rows(0, 0)?;
    Ok(())
}

fn number_format(decimals: u8) -> String {
    match decimals {
        0 => "0".to_owned(),
        decimals => format!("0.{}", "0".repeat(usize::from(decimals))),
    }
}

/// A text within the limit of the file format.
fn held(text: &str) -> String {
    if text.chars().count() <= LONGEST_TEXT {
        return text.to_owned();
    }
    let rest = " … (the whole text stands in the CSV file)";
    let keep = LONGEST_TEXT - rest.chars().count();
    text.chars().take(keep).chain(rest.chars()).collect()
}
