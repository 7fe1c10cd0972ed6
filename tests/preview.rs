//! The preview as programs on this machine and elsewhere see it: which requests it answers, and how.
//! What a reader sees of it is watched in a browser (`tests/browser/preview.js`).

use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::{Ipv4Addr, SocketAddr, TcpListener, TcpStream};
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use ropeleaf::disk::write_new_pack;
use ropeleaf::press::starter_pack;

/// What stands beside the pack, in `secret.txt`.
const SECRET: &str = "nobody's business";

/// A running preview of the pack that `start` lays out; ended when it is dropped.
struct Preview {
    program: Child,
    at: SocketAddr,
    /// The path that it names.
    page: String,
    home: tempfile::TempDir,
}

impl Drop for Preview {
    fn drop(&mut self) {
        let _ = self.program.kill();
        let _ = self.program.wait();
    }
}

/// An answer: its status, its head in small letters, its body.
struct Answer {
    status: u16,
    head: String,
    body: Vec<u8>,
}

impl Answer {
    fn text(&self) -> String {
        String::from_utf8_lossy(&self.body).into_owned()
    }
}

impl Preview {
    fn of(arguments: &[&str]) -> Self {
        Self::named("pack", arguments)
    }

    /// - `path`: what is asked for, beside the secret.
    fn named(path: &str, arguments: &[&str]) -> Self {
        let home = tempfile::tempdir().unwrap();
        write_new_pack(&home.path().join("pack"), &starter_pack()).unwrap();
        fs::write(home.path().join("secret.txt"), SECRET).unwrap();
        let mut program = Command::new(env!("CARGO_BIN_EXE_ropeleaf"))
            .arg("preview")
            .arg(home.path().join(path))
            .args(arguments)
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut line = String::new();
        let out = program.stdout.as_mut().unwrap();
        BufReader::new(out).read_line(&mut line).unwrap();
        let said = line.split("http://").nth(1).expect("it says where it is");
        let (at, page) = said.split_once('/').unwrap();
        Self {
            program,
            at: at.parse().unwrap(),
            page: format!("/{}", page.split(' ').next().unwrap()),
            home,
        }
    }

    fn content(&self) -> PathBuf {
        self.home.path().join("pack")
    }

    /// Asks under a name, for a path as it stands: no browser or library makes it plain before.
    fn ask(&self, method: &str, path: &str, host: &str) -> Answer {
        let mut stream = TcpStream::connect(self.at).unwrap();
        let patience = Some(Duration::from_secs(60));
        stream.set_read_timeout(patience).unwrap();
        let host = match host {
            "" => String::new(),
            name => format!("Host: {name}\r\n"),
        };
        write!(
            stream,
            "{method} {path} HTTP/1.1\r\n{host}Connection: close\r\n\r\n"
        )
        .unwrap();
        let mut all = Vec::new();
        stream.read_to_end(&mut all).unwrap();
        let end = all.windows(4).position(|four| four == b"\r\n\r\n").unwrap();
        let head = String::from_utf8_lossy(&all[..end]).to_lowercase();
        Answer {
            status: head[9..12].parse().unwrap(),
            head,
            body: all[end + 4..].to_vec(),
        }
    }

    fn get(&self, path: &str) -> Answer {
        self.ask("GET", path, &self.at.to_string())
    }
}

#[test]
fn only_requests_to_its_own_address_and_for_what_was_pressed_are_answered() {
    let preview = Preview::of(&["--port", "0"]);
    let (port, page) = (preview.at.port(), "/site/index.html");
    for own in [format!("localhost:{port}"), format!("127.0.0.1:{port}")] {
        assert_eq!(preview.ask("GET", page, &own).status, 200, "{own}");
    }
    for other in [
        "elsewhere.example",
        &format!("elsewhere.example:{port}"),
        "localhost",
    ] {
        for path in [page, "/-/reload.js", "/-/changes/0"] {
            let answer = preview.ask("GET", path, other);
            assert_eq!(answer.status, 421, "{other} {path}: {}", answer.text());
        }
    }
    assert!(preview.ask("GET", page, "").status >= 400, "no host");

    for path in [
        "/../secret.txt",
        "/site/../../secret.txt",
        "/site/%2e%2e/%2e%2e/secret.txt",
        "/site/..%2f..%2fsecret.txt",
        "/site/..%5c..%5csecret.txt",
        "/site/print/../../../secret.txt",
        "/print/%2e%2e%2f%2e%2e%2fsecret.txt",
        "//etc/passwd",
        "/pack.toml",
        "/%00",
    ] {
        let answer = preview.get(path);
        assert!(answer.status >= 400, "{path}: {}", answer.status);
        assert!(!answer.text().contains(SECRET), "{path}");
    }
    assert_eq!(
        preview.ask("POST", page, &preview.at.to_string()).status,
        405
    );
}

/// The number of the edition that a page is of.
fn edition_of(page: &Answer) -> u64 {
    let text = page.text();
    let (_, from) = text.split_once("data-edition=\"").unwrap();
    from.split('"').next().unwrap().parse().unwrap()
}

#[test]
fn nothing_old_is_served() {
    let preview = Preview::of(&["--port", "0"]);
    let page = "/site/index.html";
    let before = preview.get(page);
    for path in [page, "/site/find-index.js", "/-/reload.js", "/-/changes/0"] {
        let answer = preview.get(path);
        assert_eq!(answer.status, 200, "{path}");
        assert!(answer.head.contains("cache-control: no-store"), "{path}");
        let own = "cross-origin-resource-policy: same-origin";
        assert!(answer.head.contains(own), "{path}");
    }
    let head = preview.ask("HEAD", page, &preview.at.to_string());
    assert_eq!((head.status, head.body.len()), (200, 0));
    let length = format!("content-length: {}\r\n", before.body.len());
    assert!(
        format!("{}\r\n", head.head).contains(&length),
        "{}",
        head.head
    );

    let file = preview.content().join("pack.toml");
    let text = fs::read_to_string(&file).unwrap();
    fs::write(&file, text.replace("A new pack", "A pack renamed")).unwrap();
    let first = edition_of(&before);
    let changes = |after: u64| preview.get(&format!("/-/changes/{after}"));
    // Answered by the next edition.
    let news = changes(first);
    assert_eq!(news.status, 200);
    let news: serde_json::Value = serde_json::from_slice(&news.body).unwrap();
    assert_eq!(news["edition"], first + 1);
    let changed = news["changed"].as_array().unwrap();
    assert!(changed.iter().any(|path| path == "site/index.html"));
    assert!(!changed.iter().any(|path| path == "site/theme/ropeleaf.css"));
    // A page of a preview that was ended knows of editions that this one never made.
    for other in [first / 2, first + 9] {
        let news = changes(other).text();
        assert!(news.contains("\"changed\":null"), "{news}");
    }
    let after = preview.get(page).text();
    assert!(after.contains("A pack renamed") && !after.contains("A new pack"));

    let gone = preview.get("/site/lessons/gone.html");
    assert_eq!(gone.status, 404);
    assert!(
        gone.text().contains("/-/reload.js"),
        "who waits for a page sees it come"
    );

    let lesson = preview.content().join("lessons");
    fs::rename(&lesson, preview.content().join("away")).unwrap();
    let news = changes(first + 1).text();
    assert!(news.contains("error"), "{news}");
    assert!(
        preview.get(page).text().contains("A pack renamed"),
        "the last good page stays"
    );
    fs::rename(preview.content().join("away"), &lesson).unwrap();
    let news = changes(first + 2).text();
    assert!(news.contains("\"errors\":\"\""), "{news}");
}

#[test]
fn a_lesson_is_shown_within_its_pack_and_a_file_of_no_pack_is_refused() {
    let lessons = starter_pack().into_iter().map(|file| file.path);
    let lesson = lessons
        .into_iter()
        .find(|path| path.starts_with("lessons/"));
    let lesson = lesson.expect("a pack begins with a lesson");
    let preview = Preview::named(&format!("pack/{lesson}"), &["--port", "0"]);
    let page = format!("/site/{}", lesson.replace(".md", ".html"));
    assert_eq!(preview.page, page);
    for path in [page.as_str(), "/site/index.html"] {
        assert_eq!(preview.get(path).status, 200, "{path}");
    }
    let file = preview.home.path().join("secret.txt");
    let refused = Command::new(env!("CARGO_BIN_EXE_ropeleaf"))
        .arg("preview")
        .arg(file)
        .output()
        .unwrap();
    assert_eq!(refused.status.code(), Some(2));
    let said = String::from_utf8_lossy(&refused.stderr).into_owned();
    assert!(said.contains("secret.txt: is one file"), "{said}");
}

#[test]
fn a_taken_port_gives_way_to_the_next_free_one() {
    let taken = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).unwrap();
    let port = taken.local_addr().unwrap().port();
    let preview = Preview::of(&["--port", &port.to_string()]);
    assert!(preview.at.port() > port, "{} after {port}", preview.at);
    assert_eq!(preview.get("/site/index.html").status, 200);
}

/// Every address that begins with 127 is this machine's own on Linux.
#[cfg(target_os = "linux")]
#[test]
fn it_listens_where_it_is_told_to_and_else_on_loopback_only() {
    let preview = Preview::of(&["--port", "0"]);
    assert_eq!(preview.at.ip(), Ipv4Addr::LOCALHOST);
    let other = SocketAddr::from((Ipv4Addr::new(127, 0, 0, 2), preview.at.port()));
    assert!(TcpStream::connect(other).is_err(), "it listens at {other}");

    let preview = Preview::of(&["--port", "0", "--listen", "127.0.0.2"]);
    assert_eq!(preview.at.ip(), Ipv4Addr::new(127, 0, 0, 2));
    assert_eq!(preview.get("/site/index.html").status, 200);
    let name = format!("elsewhere.example:{}", preview.at.port());
    assert_eq!(preview.ask("GET", "/site/index.html", &name).status, 421);
}
