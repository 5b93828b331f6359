//! What every request passes before anything is done for it: host, rate, origin, session; and what every answer is sent with.
//! Never: lets a request through that it does not understand.
//! Start at [`pass`]; the order of the checks is the order of the lines.

mod host;
mod rate;

use std::net::IpAddr;
use std::sync::Arc;
use std::time::{Duration, Instant};

use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

pub use host::{Names, is_loopback};
pub use rate::Rate;

use crate::answer::Trouble;
use crate::share::Share;

/// Longest address and query [bytes].
const LONGEST_ADDRESS: usize = 4096;

/// Time for a request to come whole and be answered; streams are answered when they begin.
const LONGEST_WAIT: Duration = Duration::from_secs(60);

/// What the page may do: run and show its own files, speak to this service, nothing else.
const PAGE_POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; \
     connect-src 'self'; font-src 'self'; manifest-src 'self'; worker-src 'self'; frame-src 'self'; base-uri 'none'; form-action 'none'; \
     frame-ancestors 'none'; object-src 'none'";

/// What a document of a project may do: be looked at and printed, on its own or inside the page. No script of it runs.
pub const DOCUMENT_POLICY: &str = "sandbox allow-same-origin allow-modals; default-src 'none'; style-src 'unsafe-inline'; img-src data:; \
     base-uri 'none'; form-action 'none'; frame-ancestors 'self'";

/// Who asks.
#[derive(Clone, Copy, Debug)]
pub struct Peer(pub IpAddr);

/// What the checks need.
#[derive(Debug)]
pub struct Guard {
    /// The names that are ours.
    pub names: Names,
    /// How much each client may ask.
    pub rate: Rate,
    /// Who is let in from the network.
    pub share: Option<Arc<Share>>,
}

/// Checks a request, and dresses the answer.
pub async fn pass(State(guard): State<Arc<Guard>>, request: Request, next: Next) -> Response {
    let is_api = request.uri().path().starts_with("/api");
    let answer = match check(&guard, &request, is_api) {
        Ok(()) => match tokio::time::timeout(LONGEST_WAIT, next.run(request)).await {
            Ok(answer) => answer,
            Err(_) => {
                Trouble::new(StatusCode::REQUEST_TIMEOUT, "this took too long", "Try again").into_response()
            }
        },
        Err(refusal) => *refusal,
    };
    dressed(answer, is_api)
}

fn check(guard: &Guard, request: &Request, is_api: bool) -> Result<(), Box<Response>> {
    let refuse = |status, message: &str, mend: &str| {
        Err(Box::new(Trouble::new(status, message, mend).into_response()))
    };
    let Some(Peer(peer)) = request.extensions().get::<Peer>().copied() else {
        return refuse(StatusCode::FORBIDDEN, "it is not known who asks", "Ask over the network");
    };
    let (headers, uri, method) = (request.headers(), request.uri(), request.method());
    let Some(host) = guard.names.host(headers, uri, peer) else {
        return refuse(
            StatusCode::MISDIRECTED_REQUEST,
            "this address is not ours",
            "Open the address that the program printed",
        );
    };
    if !guard.rate.takes(peer, Instant::now()) {
        let mut answer = Trouble::new(
            StatusCode::TOO_MANY_REQUESTS,
            "that is more than one window can ask",
            "Wait a second and try again",
        )
        .into_response();
        answer.headers_mut().insert(header::RETRY_AFTER, HeaderValue::from_static("1"));
        return Err(Box::new(answer));
    }
    if uri.path_and_query().is_none_or(|address| address.as_str().len() > LONGEST_ADDRESS) {
        return refuse(StatusCode::URI_TOO_LONG, "the address is too long", "Ask for less at once");
    }
    if let Some(why) = host::stranger(method, headers, host, is_api) {
        return refuse(StatusCode::FORBIDDEN, why, "Open the page at the address that the program printed");
    }
    if has_body(method, headers) && !is_safe_kind(headers) {
        return refuse(
            StatusCode::UNSUPPORTED_MEDIA_TYPE,
            "a body of this kind is not taken",
            "Send `content-type: application/json`, or for a weather file `application/octet-stream`",
        );
    }
    if is_loopback(peer) || crate::share::is_door(uri.path()) {
        return Ok(());
    }
    match &guard.share {
        Some(share) if share.knows(headers) => Ok(()),
        Some(_) if is_api => refuse(
            StatusCode::UNAUTHORIZED,
            "this device was not let in",
            "Open the address that the program printed and give the code that it shows",
        ),
        Some(_) => Err(Box::new(crate::share::door())),
        None => refuse(StatusCode::FORBIDDEN, "this is not shared", "Start it with `--share`"),
    }
}

fn has_body(method: &Method, headers: &HeaderMap) -> bool {
    let length = headers.get(header::CONTENT_LENGTH).map(HeaderValue::as_bytes);
    let is_reading = method == Method::GET || method == Method::HEAD;
    !is_reading
        && (length.is_some_and(|length| length != b"0") || headers.contains_key(header::TRANSFER_ENCODING))
}

/// The kinds of body that a form of another site cannot send.
fn is_safe_kind(headers: &HeaderMap) -> bool {
    let mut kinds = headers.get_all(header::CONTENT_TYPE).iter();
    let (Some(kind), None) = (kinds.next(), kinds.next()) else { return false };
    let kind = kind.to_str().unwrap_or_default().split(';').next().unwrap_or_default().trim();
    kind.eq_ignore_ascii_case("application/json") || kind.eq_ignore_ascii_case("application/octet-stream")
}

/// The answer with what keeps browsers from doing more with it than is meant.
fn dressed(mut answer: Response, is_api: bool) -> Response {
    let headers = answer.headers_mut();
    let mut unless_said = |name: HeaderName, value: &'static str| {
        headers.entry(name).or_insert(HeaderValue::from_static(value));
    };
    unless_said(header::CONTENT_SECURITY_POLICY, PAGE_POLICY);
    unless_said(header::X_CONTENT_TYPE_OPTIONS, "nosniff");
    unless_said(header::REFERRER_POLICY, "no-referrer");
    unless_said(HeaderName::from_static("cross-origin-opener-policy"), "same-origin");
    unless_said(HeaderName::from_static("cross-origin-resource-policy"), "same-origin");
    unless_said(HeaderName::from_static("cross-origin-embedder-policy"), "require-corp");
    unless_said(
        HeaderName::from_static("permissions-policy"),
        "camera=(), geolocation=(), microphone=(), payment=(), usb=()",
    );
    if is_api {
        unless_said(header::CACHE_CONTROL, "no-store");
    }
    answer
}
