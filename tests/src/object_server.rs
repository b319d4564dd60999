//! A server of objects on this machine alone, for tests of a bucket: list, get, put and delete
//! as the Amazon S3 API describes them (API reference of 2006-03-01, from memory), with the
//! troubles that a real one may have. It checks whose key was named, not the signature: servers
//! of others do that, in the tests that fetch one.

use std::collections::BTreeMap;
use std::io::{self, BufRead, BufReader, Write as _};
use std::net::{TcpListener, TcpStream};
use std::path::PathBuf;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::thread;

use jiff::Timestamp;
use sha2::{Digest, Sha256};
use trayzero::shop::Surroundings;

/// The one bucket that it has.
pub const BUCKET: &str = "bays";
/// The key that it knows.
pub const KEY: &str = "tablet";
/// How many names a page of a list has.
const PAGE: usize = 1_000;

/// What is wrong with the server.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Trouble {
    /// Nothing.
    #[default]
    Well,
    /// It answers nobody: every connection is closed at once.
    Silent,
    /// It is busy: 503 to everything.
    Busy,
    /// Every other request is answered by 503.
    HalfBusy,
    /// Answers end in their middle.
    Half,
    /// No room is left for anything new.
    Full,
    /// Its clock is so many seconds ahead of this machine's, so that no signature holds.
    ClockAhead(i64),
    /// It does not know "only if absent".
    NoConditions,
}

/// What was asked so far.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Asked {
    /// Lists, a page each.
    pub lists: u64,
    /// Objects read.
    pub gets: u64,
    /// Objects written.
    pub puts: u64,
    /// Objects taken away.
    pub deletes: u64,
    /// Bytes of bodies to the server.
    pub bytes_up: u64,
    /// Bytes of bodies from the server.
    pub bytes_down: u64,
}

impl std::ops::Sub for Asked {
    type Output = Self;

    fn sub(self, before: Self) -> Self {
        Self {
            lists: self.lists - before.lists,
            gets: self.gets - before.gets,
            puts: self.puts - before.puts,
            deletes: self.deletes - before.deletes,
            bytes_up: self.bytes_up - before.bytes_up,
            bytes_down: self.bytes_down - before.bytes_down,
        }
    }
}

#[derive(Debug, Default)]
struct Inside {
    objects: BTreeMap<String, Vec<u8>>,
    trouble: Trouble,
    asked: Asked,
    requests: u64,
}

/// The server; it ends with the program.
#[derive(Clone, Debug)]
pub struct ObjectServer {
    port: u16,
    inside: Arc<Mutex<Inside>>,
}

impl ObjectServer {
    /// Starts one on a free port of this machine.
    ///
    /// # Panics
    /// If there is no port.
    pub fn start() -> Self {
        let listener = TcpListener::bind(("127.0.0.1", 0)).unwrap_or_else(|e| panic!("{e}"));
        let port = listener.local_addr().map_or(0, |address| address.port());
        let inside = Arc::new(Mutex::new(Inside::default()));
        let server = Self {
            port,
            inside: Arc::clone(&inside),
        };
        thread::spawn(move || {
            for stream in listener.incoming().flatten() {
                let inside = Arc::clone(&inside);
                // A connection that breaks off is nobody's fault.
                thread::spawn(move || drop(serve(&stream, &inside)));
            }
        });
        server
    }

    /// A place for a shop in its bucket.
    pub fn place(&self, prefix: &str) -> PathBuf {
        PathBuf::from(format!("s3://{BUCKET}/{prefix}"))
    }

    /// What leads a tablet to it.
    pub fn surroundings(&self) -> Surroundings {
        self.surroundings_with(KEY)
    }

    /// The same with another key.
    pub fn surroundings_with(&self, key: &str) -> Surroundings {
        Surroundings::new(self.variables(key), None)
    }

    /// The variables that lead a program to it.
    pub fn variables(&self, key: &str) -> BTreeMap<String, String> {
        let endpoint = format!("http://127.0.0.1:{}", self.port);
        let variables = [
            ("AWS_ENDPOINT_URL", endpoint.as_str()),
            ("AWS_ACCESS_KEY_ID", key),
            ("AWS_SECRET_ACCESS_KEY", "not looked at"),
        ];
        let variables = variables.map(|(name, value)| (name.to_owned(), value.to_owned()));
        variables.into()
    }

    fn lock(&self) -> MutexGuard<'_, Inside> {
        self.inside.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Lets something be wrong from now on.
    pub fn set(&self, trouble: Trouble) {
        self.lock().trouble = trouble;
    }

    /// What was asked so far.
    pub fn asked(&self) -> Asked {
        self.lock().asked
    }

    /// The objects, to look at or to change behind everybody's back.
    pub fn objects<R>(&self, work: impl FnOnce(&mut BTreeMap<String, Vec<u8>>) -> R) -> R {
        work(&mut self.lock().objects)
    }
}

/// A request as far as it is looked at.
struct Request {
    method: String,
    path: String,
    query: BTreeMap<String, String>,
    only_if_absent: bool,
    body: Vec<u8>,
}

struct Answer {
    status: u16,
    tag: Option<String>,
    body: Vec<u8>,
}

impl Answer {
    fn of(status: u16, body: Vec<u8>) -> Self {
        Self {
            status,
            tag: None,
            body,
        }
    }

    fn fault(status: u16, code: &str) -> Self {
        let body = format!("<?xml version=\"1.0\"?><Error><Code>{code}</Code></Error>");
        Self::of(status, body.into_bytes())
    }
}

fn serve(stream: &TcpStream, inside: &Mutex<Inside>) -> io::Result<()> {
    stream.set_nodelay(true)?;
    let mut input = BufReader::new(stream);
    while let Some(request) = read_request(&mut input)? {
        let (answer, trouble) = {
            let mut inside = inside.lock().unwrap_or_else(PoisonError::into_inner);
            inside.requests += 1;
            (inside.answer(&request), inside.trouble)
        };
        if trouble == Trouble::Silent {
            return Ok(());
        }
        let ahead_s = match trouble {
            Trouble::ClockAhead(seconds) => seconds,
            _ => 0,
        };
        let now = Timestamp::from_second(Timestamp::now().as_second() + ahead_s);
        let date = now.map_or_else(
            |_| String::new(),
            |now| now.strftime("%a, %d %b %Y %H:%M:%S GMT").to_string(),
        );
        let tag = answer
            .tag
            .map_or_else(String::new, |tag| format!("ETag: \"{tag}\"\r\n"));
        let head = format!(
            "HTTP/1.1 {} -\r\nDate: {date}\r\n{tag}Content-Length: {}\r\n\r\n",
            answer.status,
            answer.body.len()
        );
        let mut out = stream;
        let body = if trouble == Trouble::Half {
            &answer.body[..answer.body.len() / 2]
        } else {
            &answer.body[..]
        };
        out.write_all(&[head.as_bytes(), body].concat())?;
        if trouble == Trouble::Half {
            return Ok(());
        }
    }
    Ok(())
}

fn read_request(input: &mut impl BufRead) -> io::Result<Option<Request>> {
    let mut line = String::new();
    if input.read_line(&mut line)? == 0 {
        return Ok(None);
    }
    let mut words = line.split_whitespace();
    let (method, target) = (words.next().unwrap_or(""), words.next().unwrap_or(""));
    let (path, query) = target.split_once('?').unwrap_or((target, ""));
    let pairs = query
        .split('&')
        .map(|pair| pair.split_once('=').unwrap_or((pair, "")));
    let mut request = Request {
        method: method.to_owned(),
        path: decoded(path),
        query: pairs
            .map(|(name, value)| (decoded(name), decoded(value)))
            .collect(),
        only_if_absent: false,
        body: Vec::new(),
    };
    let mut length = 0;
    loop {
        let mut line = String::new();
        input.read_line(&mut line)?;
        let Some((name, value)) = line.trim_end().split_once(':') else {
            break;
        };
        match name.to_ascii_lowercase().as_str() {
            "content-length" => length = value.trim().parse().unwrap_or(0),
            "if-none-match" => request.only_if_absent = value.trim() == "*",
            _ => {}
        }
    }
    request.body = vec![0; length];
    input.read_exact(&mut request.body)?;
    Ok(Some(request))
}

fn decoded(text: &str) -> String {
    let mut bytes = text.bytes();
    let mut out = Vec::new();
    while let Some(byte) = bytes.next() {
        let mut digit = || bytes.next().and_then(|b| (b as char).to_digit(16));
        match byte {
            b'%' => out.push((digit().unwrap_or(0) * 16 + digit().unwrap_or(0)) as u8),
            other => out.push(other),
        }
    }
    String::from_utf8_lossy(&out).into_owned()
}

/// What changes when the object does. Nobody may rely on what it is made of.
fn tag_of(bytes: &[u8]) -> String {
    let hash = Sha256::digest(bytes);
    let pairs: Vec<String> = hash[..16].iter().map(|b| format!("{b:02x}")).collect();
    pairs.concat()
}

impl Inside {
    fn answer(&mut self, request: &Request) -> Answer {
        match self.trouble {
            Trouble::Busy => return Answer::fault(503, "SlowDown"),
            Trouble::HalfBusy if self.requests.is_multiple_of(2) => {
                return Answer::fault(503, "SlowDown");
            }
            Trouble::ClockAhead(_) => return Answer::fault(403, "RequestTimeTooSkewed"),
            _ => {}
        }
        let key = request
            .query
            .get("X-Amz-Credential")
            .map_or("", String::as_str);
        if key.split('/').next() != Some(KEY) {
            return Answer::fault(403, "InvalidAccessKeyId");
        }
        let path = request.path.trim_start_matches('/');
        let (bucket, name) = path.split_once('/').unwrap_or((path, ""));
        if bucket != BUCKET {
            return Answer::fault(404, "NoSuchBucket");
        }
        match request.method.as_str() {
            "GET" if name.is_empty() => self.list(&request.query),
            "GET" => self.get(name),
            "PUT" => self.put(name, request),
            "DELETE" => {
                self.asked.deletes += 1;
                self.objects.remove(name);
                Answer::of(204, Vec::new())
            }
            _ => Answer::fault(405, "MethodNotAllowed"),
        }
    }

    fn list(&mut self, query: &BTreeMap<String, String>) -> Answer {
        self.asked.lists += 1;
        let prefix = query.get("prefix").map_or("", String::as_str);
        let after = query.get("continuation-token").cloned().unwrap_or_default();
        let all = self.objects.range(prefix.to_owned()..);
        let all = all.take_while(|(name, _)| name.starts_with(prefix));
        let mut rest = all.filter(|(name, _)| **name > after).peekable();
        let page: Vec<(&String, &Vec<u8>)> = rest.by_ref().take(PAGE).collect();
        let mut xml = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\
             <ListBucketResult xmlns=\"http://s3.amazonaws.com/doc/2006-03-01/\">"
            .to_owned();
        for (name, bytes) in &page {
            let object = format!(
                "<Contents><Key>{name}</Key><LastModified>2026-11-30T12:00:00.000Z</LastModified>\
                 <ETag>&quot;{}&quot;</ETag><Size>{}</Size></Contents>",
                tag_of(bytes),
                bytes.len()
            );
            xml.push_str(&object);
        }
        let is_cut = rest.peek().is_some();
        let cut = format!("<IsTruncated>{is_cut}</IsTruncated>");
        xml.push_str(&cut);
        if let Some((last, _)) = page.last().filter(|_| is_cut) {
            let next = format!("<NextContinuationToken>{last}</NextContinuationToken>");
            xml.push_str(&next);
        }
        xml += "</ListBucketResult>";
        self.asked.bytes_down += xml.len() as u64;
        Answer::of(200, xml.into_bytes())
    }

    fn get(&mut self, name: &str) -> Answer {
        self.asked.gets += 1;
        let Some(bytes) = self.objects.get(name) else {
            return Answer::fault(404, "NoSuchKey");
        };
        self.asked.bytes_down += bytes.len() as u64;
        Answer {
            tag: Some(tag_of(bytes)),
            ..Answer::of(200, bytes.clone())
        }
    }

    fn put(&mut self, name: &str, request: &Request) -> Answer {
        self.asked.puts += 1;
        self.asked.bytes_up += request.body.len() as u64;
        if self.trouble == Trouble::Full {
            return Answer::fault(507, "QuotaExceeded");
        }
        if request.only_if_absent {
            if self.trouble == Trouble::NoConditions {
                return Answer::fault(501, "NotImplemented");
            }
            if self.objects.contains_key(name) {
                return Answer::fault(412, "PreconditionFailed");
            }
        }
        let tag = Some(tag_of(&request.body));
        self.objects.insert(name.to_owned(), request.body.clone());
        Answer {
            tag,
            ..Answer::of(200, Vec::new())
        }
    }
}
