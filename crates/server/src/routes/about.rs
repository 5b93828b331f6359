//! Letting a device in, and the description of the service.
//! Never: says whether a code was nearly right.
//! Start at [`enter`].

use axum::extract::{Extension, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};

use super::Shared;
use crate::answer::{Asked, Trouble};
use crate::guard::Peer;
use crate::wire;

/// Let a device in by the code that the terminal shows
#[utoipa::path(post, path = "/api/session", tag = "service", request_body = wire::Entry, responses((status = 204, description = "The device is let in; the session is in the cookie")))]
pub async fn enter(
    State(app): Shared,
    Extension(Peer(peer)): Extension<Peer>,
    Asked(entry): Asked<wire::Entry>,
) -> Result<Response, Trouble> {
    let Some(share) = &app.guard.share else {
        return Err(Trouble::new(StatusCode::FORBIDDEN, "this is not shared", "Start it with `--share`"));
    };
    let cookie = share.enter(&entry.code, peer)?;
    Ok((StatusCode::NO_CONTENT, [(header::SET_COOKIE, cookie)]).into_response())
}

/// This description
#[utoipa::path(get, path = "/api/openapi.json", tag = "service", responses((status = 200, description = "OpenAPI", content_type = "application/json")))]
pub async fn description() -> Result<Response, Trouble> {
    let text = crate::description().map_err(|error| Trouble::ours(error.to_string()))?;
    Ok(([(header::CONTENT_TYPE, "application/json")], text).into_response())
}
