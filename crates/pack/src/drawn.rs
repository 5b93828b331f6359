//! The drawings among the papers: mounting board, plan of the vehicle, wiring diagram, door cards.
//! Never: draws; `drawing` does.
//! Start at [`drawings`].

use drawing::SAFETY;

use crate::{Inputs, OutFile};

/// Board and vehicle where there are such, the sheets of the wiring diagram, a card for each panel; what a drawing program reads as DXF.
pub fn drawings(inputs: &Inputs<'_>) -> Vec<OutFile> {
    let mut files = Vec::new();
    let mut file = |name: String, bytes: Vec<u8>, what| files.push(OutFile { name, bytes, what });
    if let Some(layout) = inputs.layout {
        let plate = drawing::mounting::plate(layout, inputs.system);
        file(
            "board.svg".to_owned(),
            plate.svg(SAFETY).into_bytes(),
            "mounting board in full size, with its holes",
        );
        let dxf = drawing::board_dxf_of(&plate, layout);
        file("board.dxf".to_owned(), dxf, "mounting board for a drawing program, in mm");
    }
    if let Some(vehicle) = inputs.vehicle {
        let plan = drawing::vehicle_plan(vehicle, inputs.system);
        file(
            "vehicle-plan.svg".to_owned(),
            plan.into_bytes(),
            "plan of the vehicle: runs, holes, loads on the axles",
        );
    }
    let sheets = drawing::wiring::sheets(inputs.system);
    for (number, sheet) in (1..).zip(&sheets) {
        file(format!("wiring-{number}.svg"), sheet.svg(SAFETY).into_bytes(), "wiring diagram, both poles");
    }
    if !sheets.is_empty() {
        let dxf = drawing::dxf_of(&sheets);
        file("wiring.dxf".to_owned(), dxf, "wiring diagram for a drawing program, in mm");
    }
    for (number, card) in (1..).zip(drawing::door_cards(inputs.system)) {
        file(format!("door-card-{number}.svg"), card.into_bytes(), "card for the door of a panel");
    }
    files
}
