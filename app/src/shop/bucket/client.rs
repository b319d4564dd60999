//! The four requests that a bucket is asked: list, get, put, delete. Each is signed with a
//! signature of its own that holds for a few minutes, so that no request needs the one before.

use std::fmt;
use std::io::{ErrorKind, Read};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use jiff::Timestamp;
use jiff::fmt::rfc2822;
use rustls::crypto::ring;
use rusty_s3::S3Action;
use rusty_s3::actions::{DeleteObject, GetObject, ListObjectsV2, PutObject};
use ureq::http::{Response, StatusCode};
use ureq::tls::{RootCerts, TlsConfig};
use ureq::{Agent, Body};

use super::address::{Access, BucketAddress, Surroundings};
use super::fault::BucketFault;
use crate::shop::ShopFault;
use crate::shop::spread::spread_over;

/// How long a signature holds.
const SIGNED_FOR: Duration = Duration::from_mins(5);
const CONNECT_WITHIN: Duration = Duration::from_secs(10);
/// A whole request with its answer; a slow line takes long for a picture.
const ANSWER_WITHIN: Duration = Duration::from_mins(1);
/// Connections that are kept for the next request.
const KEPT_CONNECTIONS: usize = AT_ONCE;
/// Requests that are under way beside each other at most.
const AT_ONCE: usize = 16;
/// The most that is read of an answer that says what is wrong, and of one page of a list.
const ERROR_BYTES_MAX: u64 = 16 << 10;
const LIST_BYTES_MAX: u64 = 8 << 20;
/// Clocks that are further apart are told to be the reason of a no, in seconds. Servers take
/// a quarter of an hour; a signature here holds for five minutes.
const CLOCKS_APART_S: i64 = 4 * 60;

/// An object in a list.
#[derive(Clone, Debug)]
pub(super) struct Listed {
    /// Its name below the prefix.
    pub name: String,
    /// What changes when the object does.
    pub tag: String,
    pub bytes: u64,
}

/// An object's bytes, with what changes when it does.
#[derive(Debug)]
pub(super) struct Got {
    pub bytes: Vec<u8>,
    pub tag: String,
}

/// What putting an object came to.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum Put {
    /// It is there; with what changes when it does, if the server said so.
    Done(String),
    /// One with this name was there before, and stays.
    WasThere,
}

/// Asks one bucket.
pub(super) struct Client {
    address: BucketAddress,
    /// As a person wrote it, for what is said of it.
    pub place: PathBuf,
    access: Access,
    agent: Agent,
    /// The server knows no "only if absent".
    puts_always: AtomicBool,
}

impl fmt::Debug for Client {
    /// Without the keys.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Client({})", self.address)
    }
}

impl Client {
    pub fn new(
        address: &BucketAddress,
        place: &Path,
        around: &Surroundings,
    ) -> Result<Self, BucketFault> {
        let access = around.access(address)?;
        // A company's own server shows a certificate that this system trusts.
        let tls = TlsConfig::builder()
            .root_certs(RootCerts::PlatformVerifier)
            .unversioned_rustls_crypto_provider(Arc::new(ring::default_provider()))
            .build();
        let agent = Agent::config_builder()
            .tls_config(tls)
            .http_status_as_error(false)
            .max_redirects(0)
            .max_redirects_will_error(false)
            .max_idle_connections(KEPT_CONNECTIONS)
            .max_idle_connections_per_host(KEPT_CONNECTIONS)
            .timeout_connect(Some(CONNECT_WITHIN))
            .timeout_global(Some(ANSWER_WITHIN))
            .build();
        Ok(Self {
            address: address.clone(),
            place: place.to_owned(),
            access,
            agent: agent.new_agent(),
            puts_always: AtomicBool::new(false),
        })
    }

    /// What is wrong with the bucket, as a fault of the shop's place.
    pub fn fault(&self, why: BucketFault) -> ShopFault {
        ShopFault::Bucket {
            place: self.place.clone(),
            why,
        }
    }

    /// Every object below a folder of the prefix, `most` at most.
    pub fn list(&self, within: &str, most: usize) -> Result<Vec<Listed>, BucketFault> {
        let mut found = Vec::new();
        let mut next: Option<String> = None;
        loop {
            let prefix = self.address.key(within);
            let mut ask = ListObjectsV2::new(&self.access.bucket, Some(&self.access.keys));
            ask.with_prefix(&prefix);
            if let Some(next) = &next {
                ask.with_continuation_token(next.as_str());
            }
            let url = ask.sign(SIGNED_FOR);
            let answer = answered(self.agent.get(url.as_str()).call())?;
            let bytes = body(answer, LIST_BYTES_MAX)?;
            let page = str::from_utf8(&bytes).ok();
            let page = page.and_then(|text| ListObjectsV2::parse_response(text).ok());
            let page = page.ok_or(BucketFault::Half)?;
            found.extend(page.contents.into_iter().filter_map(|object| {
                Some(Listed {
                    name: self.address.name(&object.key)?.to_owned(),
                    tag: bare(&object.etag?),
                    bytes: object.size?,
                })
            }));
            next = page.next_continuation_token;
            if next.is_none() || found.len() >= most {
                found.truncate(most);
                return Ok(found);
            }
        }
    }

    /// An object's bytes; `None` if it is not there. Of one that has more than `most`, one
    /// byte more than that is given.
    pub fn get(&self, name: &str, most: u64) -> Result<Option<Got>, BucketFault> {
        let key = self.address.key(name);
        let ask = GetObject::new(&self.access.bucket, Some(&self.access.keys), &key);
        let url = ask.sign(SIGNED_FOR);
        let answer = match answered(self.agent.get(url.as_str()).call()) {
            Err(BucketFault::NotThere) => return Ok(None),
            other => other?,
        };
        let tag = tag_of(&answer);
        let bytes = body(answer, most)?;
        Ok(Some(Got { bytes, tag }))
    }

    /// Puts an object that may be there already: its name says what is in it.
    pub fn put_new(&self, name: &str, bytes: &[u8]) -> Result<Put, BucketFault> {
        let puts_always = self.puts_always.load(Ordering::Relaxed);
        match self.put_if(name, bytes, !puts_always) {
            Err(BucketFault::Answered(501)) if !puts_always => {
                self.puts_always.store(true, Ordering::Relaxed);
                self.put_if(name, bytes, false)
            }
            other => other,
        }
    }

    /// Puts an object in the place of the one that was there.
    pub fn put_over(&self, name: &str, bytes: &[u8]) -> Result<String, BucketFault> {
        match self.put_if(name, bytes, false)? {
            Put::Done(tag) => Ok(tag),
            Put::WasThere => Ok(String::new()),
        }
    }

    fn put_if(&self, name: &str, bytes: &[u8], is_new: bool) -> Result<Put, BucketFault> {
        let key = self.address.key(name);
        let ask = PutObject::new(&self.access.bucket, Some(&self.access.keys), &key);
        let url = ask.sign(SIGNED_FOR);
        let mut request = self.agent.put(url.as_str());
        if is_new {
            request = request.header("if-none-match", "*");
        }
        match answered(request.send(bytes)) {
            Ok(answer) => Ok(Put::Done(tag_of(&answer))),
            Err(BucketFault::Answered(412)) => Ok(Put::WasThere),
            Err(other) => Err(other),
        }
    }

    /// Takes an object away; one that is not there is none.
    pub fn delete(&self, name: &str) -> Result<(), BucketFault> {
        let key = self.address.key(name);
        let ask = DeleteObject::new(&self.access.bucket, Some(&self.access.keys), &key);
        let url = ask.sign(SIGNED_FOR);
        match answered(self.agent.delete(url.as_str()).call()) {
            Ok(_) | Err(BucketFault::NotThere) => Ok(()),
            Err(other) => Err(other),
        }
    }
}

/// Entity tags stand in quotes, in lists mostly too.
fn bare(tag: &str) -> String {
    tag.trim_matches('"').to_owned()
}

fn tag_of(answer: &Response<Body>) -> String {
    let tag = answer.headers().get("etag");
    tag.and_then(|tag| tag.to_str().ok())
        .map(bare)
        .unwrap_or_default()
}

/// An answer that says yes, or what is wrong.
fn answered(answer: Result<Response<Body>, ureq::Error>) -> Result<Response<Body>, BucketFault> {
    let answer = answer.map_err(|error| fault_of(&error))?;
    let status = answer.status();
    if status.is_success() {
        return Ok(answer);
    }
    let apart_s = clock_apart_s(&answer);
    // Only the code in the answer is looked at: the rest may repeat what was signed.
    let text = body(answer, ERROR_BYTES_MAX).unwrap_or_default();
    let text = String::from_utf8_lossy(&text);
    let code = text
        .split_once("<Code>")
        .and_then(|(_, rest)| rest.split_once("</Code>"))
        .map_or("", |(code, _)| code);
    Err(match status {
        _ if code.contains("Quota") || status == StatusCode::INSUFFICIENT_STORAGE => {
            BucketFault::Full
        }
        _ if code == "NoSuchBucket" => BucketFault::NoBucket,
        StatusCode::NOT_FOUND => BucketFault::NotThere,
        StatusCode::FORBIDDEN | StatusCode::UNAUTHORIZED | StatusCode::BAD_REQUEST => {
            match apart_s.filter(|apart| apart.abs() > CLOCKS_APART_S) {
                Some(apart) => BucketFault::ClockOff {
                    ahead_min: (apart as f64 / 60.0).round() as i64,
                },
                None if status == StatusCode::BAD_REQUEST => BucketFault::Answered(400),
                None => BucketFault::Refused,
            }
        }
        StatusCode::TOO_MANY_REQUESTS
        | StatusCode::INTERNAL_SERVER_ERROR
        | StatusCode::BAD_GATEWAY
        | StatusCode::SERVICE_UNAVAILABLE
        | StatusCode::GATEWAY_TIMEOUT => BucketFault::NotNow,
        other => BucketFault::Answered(other.as_u16()),
    })
}

/// By how many seconds this tablet's clock is ahead of the server's.
fn clock_apart_s(answer: &Response<Body>) -> Option<i64> {
    let date = answer.headers().get("date")?.to_str().ok()?;
    let there = rfc2822::parse(date).ok()?.timestamp();
    Some(Timestamp::now().as_second() - there.as_second())
}

fn body(answer: Response<Body>, most: u64) -> Result<Vec<u8>, BucketFault> {
    let mut bytes = Vec::new();
    let body = answer.into_body().into_reader();
    let read = body.take(most + 1).read_to_end(&mut bytes);
    read.map_err(|error| match error.kind() {
        ErrorKind::TimedOut => BucketFault::NotReached,
        _ => BucketFault::Half,
    })?;
    Ok(bytes)
}

/// What went wrong before there was an answer. Without the address, in which the signature
/// stands.
fn fault_of(error: &ureq::Error) -> BucketFault {
    match error {
        ureq::Error::Protocol(_) => BucketFault::Half,
        _ => BucketFault::NotReached,
    }
}

/// Does the same to many things with several requests under way.
pub(super) fn at_once<T: Send, R: Send>(work: Vec<T>, each: impl Fn(T) -> R + Sync) -> Vec<R> {
    spread_over(AT_ONCE.min(work.len()), work, each)
}
