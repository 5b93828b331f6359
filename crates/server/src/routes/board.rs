//! The mounting board: as it stands, and what a move on it would come to.
//! Never: changes anything; a move is kept by an ordinary change.
//! Start at [`board`].

use axum::extract::State;

use super::{At, Shared};
use crate::answer::{Answer, Asked, Trouble};
use crate::{tell, wire};

/// The mounting board; where nobody designs one, a proposal, which takes about a second the first time
#[utoipa::path(get, path = "/api/projects/{key}/board", tag = "places", params(("key" = String, Path)), responses((status = 200, body = wire::Board)))]
pub async fn board(State(app): Shared, At(key): At<String>) -> Answer<wire::Board> {
    app.answer(move |app| {
        let now = app.desk.now(&key)?;
        tell::board(now.stand()?).ok_or_else(|| {
            Trouble::refused("a refused system has no board", "Take one of the ways out in the findings")
        })
    })
    .await
}

/// The board with one device moved, on trial
#[utoipa::path(post, path = "/api/projects/{key}/board/moved", tag = "places", params(("key" = String, Path)), request_body = wire::BoardMove, responses((status = 200, body = wire::Board)))]
pub async fn moved(
    State(app): Shared,
    At(key): At<String>,
    Asked(wanted): Asked<wire::BoardMove>,
) -> Answer<wire::Board> {
    app.answer(move |app| {
        let now = app.desk.now(&key)?;
        tell::moved(now.stand()?, &wanted).ok_or_else(|| Trouble::missing("device on the board", &wanted.id))
    })
    .await
}
