//! The page as it was built, inside the program.
//! Never: reads a file; a name that was not there at building is not there.
//! Start at [`answer`].

use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};

use crate::answer::Trouble;

/// A file of the page.
#[derive(Debug)]
struct Asset {
    name: &'static str,
    bytes: &'static [u8],
    /// Compressed by gzip, where that is smaller.
    packed: Option<&'static [u8]>,
    /// Tells its content from that of another build.
    mark: &'static str,
}

/// All of them, in order of name.
static ASSETS: &[Asset] = include!(concat!(env!("OUT_DIR"), "/assets.rs"));

/// The file at a path; the page itself at `/` and at paths that are views of it (without a dot).
pub fn answer(path: &str, headers: &HeaderMap) -> Response {
    answer_from(ASSETS, path, headers)
}

fn answer_from(assets: &'static [Asset], path: &str, headers: &HeaderMap) -> Response {
    let find = |name: &str| assets.iter().find(|asset| asset.name == name);
    let name = path.trim_start_matches('/');
    let is_view = !name.contains('.') && !name.contains('%');
    let Some(asset) = find(name).or_else(|| if is_view { find("index.html") } else { None }) else {
        return Trouble::missing("file", path).into_response();
    };
    let mark = format!("\"{}\"", asset.mark);
    // A name that holds a mark of its content never changes what it means.
    let keep =
        if asset.name.starts_with("assets/") { "public, max-age=31536000, immutable" } else { "no-cache" };
    let is_known = headers
        .get(header::IF_NONE_MATCH)
        .and_then(|known| known.to_str().ok())
        .is_some_and(|known| known.split(',').any(|known| known.trim().trim_start_matches("W/") == mark));
    let common = [
        (header::ETAG, mark),
        (header::CACHE_CONTROL, keep.to_owned()),
        (header::VARY, "accept-encoding".to_owned()),
    ];
    if is_known {
        return (StatusCode::NOT_MODIFIED, common).into_response();
    }
    let kind = [(header::CONTENT_TYPE, media(asset.name))];
    let takes_packed =
        headers.get(header::ACCEPT_ENCODING).and_then(|taken| taken.to_str().ok()).is_some_and(|taken| {
            taken.split(',').any(|one| one.trim() == "gzip" || one.trim().starts_with("gzip;q=1"))
        });
    match asset.packed {
        Some(packed) if takes_packed => {
            (common, kind, [(header::CONTENT_ENCODING, "gzip")], packed).into_response()
        }
        _ => (common, kind, asset.bytes).into_response(),
    }
}

fn media(name: &str) -> &'static str {
    match name.rsplit('.').next().unwrap_or_default() {
        "html" => "text/html; charset=utf-8",
        "js" => "text/javascript; charset=utf-8",
        "css" => "text/css; charset=utf-8",
        "svg" => "image/svg+xml",
        "png" => "image/png",
        "ico" => "image/x-icon",
        "json" => "application/json",
        "webmanifest" => "application/manifest+json",
        "woff2" => "font/woff2",
        "txt" => "text/plain; charset=utf-8",
        _ => "application/octet-stream",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    static PAGE: &[Asset] = &[
        Asset { name: "assets/index-1a2b.js", bytes: b"let a;", packed: Some(b"packed"), mark: "11" },
        Asset { name: "index.html", bytes: b"<!doctype html>", packed: None, mark: "22" },
    ];

    fn get(path: &str, pairs: &[(header::HeaderName, &str)]) -> Response {
        let mut headers = HeaderMap::new();
        for (name, value) in pairs {
            headers.insert(name, value.parse().unwrap());
        }
        answer_from(PAGE, path, &headers)
    }

    fn says<'r>(answer: &'r Response, name: &str) -> &'r str {
        answer.headers().get(name).map_or("", |value| value.to_str().unwrap())
    }

    #[test]
    fn files_have_their_kind_and_views_are_the_page() {
        let script = get("/assets/index-1a2b.js", &[(header::ACCEPT_ENCODING, "gzip, br")]);
        assert_eq!(says(&script, "content-type"), "text/javascript; charset=utf-8");
        assert_eq!(says(&script, "content-encoding"), "gzip");
        assert!(says(&script, "cache-control").contains("immutable"));
        assert_eq!(says(&get("/assets/index-1a2b.js", &[]), "content-encoding"), "");
        for view in ["/", "/index.html", "/p/heron/energy"] {
            assert_eq!(says(&get(view, &[]), "content-type"), "text/html; charset=utf-8", "{view}");
            assert_eq!(says(&get(view, &[]), "cache-control"), "no-cache");
        }
        for none in ["/other.js", "/assets/../index.html", "/..%2findex", "/assets/index-1a2b.js.map"] {
            assert_eq!(get(none, &[]).status(), StatusCode::NOT_FOUND, "{none}");
        }
    }

    #[test]
    fn a_known_file_is_not_sent_again() {
        let page = get("/", &[(header::IF_NONE_MATCH, "\"11\", W/\"22\"")]);
        assert_eq!(page.status(), StatusCode::NOT_MODIFIED);
        assert_eq!(get("/", &[(header::IF_NONE_MATCH, "\"11\"")]).status(), StatusCode::OK);
    }
}
