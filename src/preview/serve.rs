//! HTTP for the preview: files of the present edition from memory, nothing from the disk.

use std::net::{SocketAddr, TcpListener};
use std::sync::Arc;
use std::sync::mpsc::Sender;
use std::time::Duration;

use axum::Router;
use axum::extract::{Path, Request, State};
use axum::http::header::{CACHE_CONTROL, CONTENT_SECURITY_POLICY, CONTENT_TYPE, HOST};
use axum::http::{HeaderName, HeaderValue, StatusCode};
use axum::middleware::{self, Next};
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::get;
use tokio::sync::watch::Receiver;

use crate::press::text::escape;

use super::edition::Edition;

/// Where a page asks whether it is still the newest.
const CHANGES: &str = "/-/changes/{after}";

/// How long a question about changes is held open before it is answered with "none".
const HELD: Duration = Duration::from_secs(25);

/// The port of an address that names none.
const HTTP_PORT: u16 = 80;

/// Pages run their own scripts and the reload script; nothing comes from elsewhere.
const POLICY: &str = "default-src 'self'; script-src 'self' 'unsafe-inline'; style-src 'self' 'unsafe-inline'; img-src 'self' data:; font-src 'self'";

/// A page elsewhere must not read the pack by taking a script or a picture of it for its own.
const RESOURCE_POLICY: HeaderName = HeaderName::from_static("cross-origin-resource-policy");

const HTML: &str = "text/html; charset=utf-8";

/// Where prints stand in the output; the site has its own copy of them.
const PRINTS: [&str; 2] = ["site/print/", "print/"];

const RELOAD_SCRIPT: &str = include_str!("../../theme/preview.js");

/// How what the preview itself has to say looks: on a page of its own, or over the last good one.
const STYLE: &str = ".preview-said { margin: 0; padding: 16px; background: #fff; color: #1b2530; font: 14px/1.4 ui-monospace, monospace; white-space: pre-wrap } .preview-said.over { position: fixed; inset: 0 0 auto 0; max-height: 60vh; overflow: auto; border-bottom: 3px solid #a0162b; z-index: 9 }";

#[derive(Clone)]
struct Site {
    editions: Receiver<Arc<Edition>>,
    at: SocketAddr,
    /// Takes what prints left out, as text for the terminal.
    notes: Sender<String>,
}

/// Serves until there are no more editions to come.
///
/// - `notes`: takes what each print left out when it is set, as text for the terminal.
///
/// # Errors
/// The system's, from the listener.
pub fn serve(
    listener: TcpListener,
    at: SocketAddr,
    editions: Receiver<Arc<Edition>>,
    notes: Sender<String>,
) -> std::io::Result<()> {
    let mut coming = editions.clone();
    let over = async move { while coming.changed().await.is_ok() {} };
    let site = Site {
        editions,
        at,
        notes,
    };
    let router = Router::new()
        .route(
            "/",
            get(|| async { Redirect::temporary("/site/index.html") }),
        )
        .route(
            "/-/reload.js",
            get(|| async { typed("text/javascript", RELOAD_SCRIPT) }),
        )
        .route(CHANGES, get(changes))
        .route("/{*path}", get(file))
        .layer(middleware::from_fn_with_state(site.clone(), own_host))
        .with_state(site);
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()?;
    runtime.block_on(async {
        listener.set_nonblocking(true)?;
        let listener = tokio::net::TcpListener::from_std(listener)?;
        axum::serve(listener, router)
            .with_graceful_shutdown(over)
            .await
    })
}

/// Refuses a request that was meant for another name: a page elsewhere that has this machine's
/// address under its own name must not read the pack.
async fn own_host(State(site): State<Site>, request: Request, next: Next) -> Response {
    let host = request
        .headers()
        .get(HOST)
        .and_then(|h| h.to_str().ok())
        .unwrap_or("");
    if is_own_host(host, site.at) {
        next.run(request).await
    } else {
        (
            StatusCode::MISDIRECTED_REQUEST,
            "this preview answers only to its own address\n",
        )
            .into_response()
    }
}

fn is_own_host(host: &str, at: SocketAddr) -> bool {
    let port = format!(":{}", at.port());
    // A browser leaves out the port that HTTP has by custom.
    let host = match at.port() == HTTP_PORT && !host.ends_with(&port) {
        true => format!("{host}{port}"),
        false => host.to_owned(),
    };
    let Some(name) = host.strip_suffix(&port) else {
        return false;
    };
    let loopback = matches!(name, "localhost" | "127.0.0.1" | "[::1]");
    let listened = SocketAddr::new(at.ip(), at.port()).to_string();
    // Listening on every address means that the machine's own addresses are asked for by number.
    let by_number = at.ip().is_unspecified() && host.parse::<SocketAddr>().is_ok();
    loopback || host == listened || by_number
}

async fn file(State(site): State<Site>, Path(path): Path<String>) -> Response {
    let edition = site.editions.borrow().clone();
    let Some(name) = PRINTS.iter().find_map(|folder| path.strip_prefix(folder)) else {
        return respond(&edition, &path);
    };
    // Setting a print takes long: not on a thread that serves.
    let name = name.to_owned();
    let set = tokio::task::spawn_blocking(move || print(&edition, &name, &site.notes)).await;
    set.unwrap_or_else(|_| StatusCode::INTERNAL_SERVER_ERROR.into_response())
}

fn respond(edition: &Edition, path: &str) -> Response {
    match edition.file(path) {
        Some(bytes) if path.ends_with(".html") => {
            typed(HTML, page(&String::from_utf8_lossy(bytes), edition.number))
        }
        Some(bytes) => typed(kind_of(path), bytes.to_vec()),
        None if path == "site/index.html" => said(edition, "Nothing is pressed yet", ""),
        None => not_there(edition, path),
    }
}

/// A print, or a page that says what stops it from being set.
fn print(edition: &Edition, name: &str, notes: &Sender<String>) -> Response {
    match edition.print(name, notes) {
        Some(Ok(pdf)) => typed("application/pdf", pdf.clone()),
        Some(Err(why)) => {
            let what = format!("{name} could not be set");
            (StatusCode::UNPROCESSABLE_ENTITY, said(edition, &what, why)).into_response()
        }
        None => not_there(edition, name),
    }
}

fn not_there(edition: &Edition, path: &str) -> Response {
    let what = format!("{path} is not among what was pressed");
    (StatusCode::NOT_FOUND, said(edition, &what, "")).into_response()
}

/// A page that says why there is none, until the next edition.
///
/// - `why`: findings as text; empty where there is no more to say.
fn said(edition: &Edition, what: &str, why: &str) -> Response {
    let (what, why) = (escape(what), escape(why));
    let html = format!(
        "<!doctype html><html lang=\"en\"><head>{}<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"><link rel=\"icon\" href=\"data:,\"><title>{what}</title></head><body><pre class=\"preview-said\" role=\"alert\">{what}.\n\n{why}</pre></body></html>",
        script(edition.number, " data-instead")
    );
    typed(HTML, html)
}

/// What the preview adds to the head of a page.
fn script(number: u64, more: &str) -> String {
    format!(
        "<style>{STYLE}</style><script src=\"/-/reload.js\" data-edition=\"{number}\"{more} defer></script>"
    )
}

/// The page with the reload script before its own ones, and without its own policy: the header's goes
/// for all.
fn page(html: &str, number: u64) -> String {
    const HEAD: &str = "<head>";
    let html = without_policy(html);
    let start = html.find(HEAD).map_or(html.len(), |at| at + HEAD.len());
    let (before, after) = html.split_at(start);
    format!("{before}{}{after}", script(number, ""))
}

/// Takes out the `meta` element that carries the page's policy for reading from a folder.
fn without_policy(html: &str) -> String {
    let Some(name) = html.find("http-equiv=\"Content-Security-Policy\"") else {
        return html.to_owned();
    };
    let (Some(start), Some(end)) = (html[..name].rfind('<'), html[name..].find('>')) else {
        return html.to_owned();
    };
    format!("{}{}", &html[..start], &html[name + end + 1..])
}

/// Answers when there is a newer edition than the asker's, or when the time is up.
async fn changes(State(mut site): State<Site>, Path(after): Path<u64>) -> Response {
    let newer = site.editions.wait_for(|edition| edition.number != after);
    match tokio::time::timeout(HELD, newer).await {
        Ok(Ok(edition)) => {
            let body = serde_json::json!({
                "edition": edition.number,
                "errors": edition.errors,
                "changed": edition.changed_since(after),
            });
            typed("application/json", body.to_string())
        }
        _ => StatusCode::NO_CONTENT.into_response(),
    }
}

fn typed(kind: &'static str, body: impl IntoResponse) -> Response {
    let headers = [
        (CONTENT_TYPE, kind),
        (CACHE_CONTROL, "no-store"),
        (CONTENT_SECURITY_POLICY, POLICY),
        (RESOURCE_POLICY, "same-origin"),
    ];
    let headers = headers.map(|(name, value)| (name, HeaderValue::from_static(value)));
    (headers, body).into_response()
}

fn kind_of(path: &str) -> &'static str {
    match path.rsplit('.').next().unwrap_or("") {
        "css" => "text/css; charset=utf-8",
        "js" => "text/javascript; charset=utf-8",
        "json" => "application/json",
        "svg" => "image/svg+xml",
        "png" => "image/png",
        "jpg" | "jpeg" => "image/jpeg",
        "webp" => "image/webp",
        "ttf" => "font/ttf",
        "pdf" => "application/pdf",
        "txt" => "text/plain; charset=utf-8",
        _ => "application/octet-stream",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_its_own_address_is_answered() {
        let at: SocketAddr = "127.0.0.1:4470".parse().unwrap();
        assert!(is_own_host("localhost:4470", at));
        assert!(is_own_host("127.0.0.1:4470", at));
        assert!(!is_own_host("elsewhere.example:4470", at));
        assert!(!is_own_host("localhost:80", at));
        assert!(!is_own_host("", at));
        let open: SocketAddr = "0.0.0.0:4470".parse().unwrap();
        assert!(is_own_host("192.168.1.7:4470", open));
        assert!(!is_own_host("elsewhere.example:4470", open));
        let customary: SocketAddr = "127.0.0.1:80".parse().unwrap();
        assert!(is_own_host("localhost", customary));
        assert!(is_own_host("127.0.0.1:80", customary));
        assert!(!is_own_host("localhost:8080", customary));
        assert!(!is_own_host("elsewhere.example", customary));
    }

    #[test]
    fn a_page_gets_the_reload_script_and_loses_its_policy() {
        let html = "<!doctype html><head><meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'\"><title>x</title></head><body><p>y</p></body>";
        let shown = page(html, 7);
        let (before, after) = shown
            .split_once("data-edition=\"7\" defer></script>")
            .unwrap();
        assert!(
            before.starts_with("<!doctype html><head><style>"),
            "{before}"
        );
        assert_eq!(after, "<title>x</title></head><body><p>y</p></body>");
    }
}
