//! A browser without a window, asked over two pipes (its debugging protocol): nothing of it
//! listens on a network, and what it is asked for is answered in order.

use std::io::{BufRead, BufReader, Read, Write};
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};

use serde_json::{Value, json};

/// A browser with one page.
pub struct Browser {
    child: Child,
    to: ChildStdin,
    from: BufReader<ChildStdout>,
    session: String,
    last: u64,
    /// Addresses that the page has asked for.
    pub asked_for: Vec<String>,
    /// Whatever went wrong or was said in the page.
    pub said: Vec<String>,
    _profile: tempfile::TempDir,
}

impl Browser {
    /// Starts it.
    pub fn start() -> Self {
        let profile = tempfile::tempdir().unwrap();
        let data = format!("--user-data-dir={}", profile.path().display());
        // The browser reads its third file and writes its fourth.
        let mut child = Command::new("sh")
            .args([
                "-c",
                "exec chromium \"$@\" 3<&0 4>&1 0</dev/null 1>&2",
                "sh",
            ])
            .args(["--headless=new", "--no-sandbox", "--disable-gpu"])
            .args(["--remote-debugging-pipe", "--no-first-run"])
            .args(["--disable-dev-shm-usage", "--disable-background-networking"])
            .args(["--disable-component-update", "--disable-sync", &data])
            .arg("about:blank")
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("chromium is installed (tests/run installs it)");
        let (to, from) = (child.stdin.take().unwrap(), child.stdout.take().unwrap());
        let mut browser = Self {
            child,
            to,
            from: BufReader::new(from),
            session: String::new(),
            last: 0,
            asked_for: Vec::new(),
            said: Vec::new(),
            _profile: profile,
        };
        let target = browser.ask("Target.createTarget", &json!({"url": "about:blank"}));
        let target = target["targetId"].as_str().unwrap().to_owned();
        let attach = json!({"targetId": target, "flatten": true});
        let attached = browser.ask("Target.attachToTarget", &attach);
        let session = attached["sessionId"].as_str().unwrap();
        session.clone_into(&mut browser.session);
        for domain in [
            "Page.enable",
            "Network.enable",
            "Runtime.enable",
            "Log.enable",
        ] {
            browser.ask(domain, &json!({}));
        }
        browser
    }

    /// Asks for something and waits for the answer.
    pub fn ask(&mut self, method: &str, params: &Value) -> Value {
        self.last += 1;
        let id = self.last;
        let mut message = json!({"id": id, "method": method, "params": params});
        if !self.session.is_empty() {
            message["sessionId"] = json!(self.session);
        }
        let mut bytes = serde_json::to_vec(&message).unwrap();
        bytes.push(0);
        self.to.write_all(&bytes).unwrap();
        loop {
            let answer = self.next();
            if answer["id"] == json!(id) {
                assert!(answer["error"].is_null(), "{method}: {}", answer["error"]);
                return answer["result"].clone();
            }
        }
    }

    /// The next thing that the browser says.
    fn next(&mut self) -> Value {
        let mut bytes = Vec::new();
        self.from.read_until(0, &mut bytes).unwrap();
        assert!(!bytes.is_empty(), "the browser has ended");
        bytes.pop();
        let said: Value = serde_json::from_slice(&bytes).unwrap();
        match said["method"].as_str() {
            Some("Network.requestWillBeSent") => {
                let url = said["params"]["request"]["url"].as_str().unwrap();
                self.asked_for.push(url.to_owned());
            }
            Some("Runtime.exceptionThrown" | "Runtime.consoleAPICalled" | "Log.entryAdded") => {
                self.said.push(said["params"].to_string());
            }
            _ => {}
        }
        said
    }

    /// Shows a page in a size, dark or light, and waits until it is there.
    pub fn show(&mut self, url: &str, (width, height): (u32, u32), is_dark: bool) {
        let size = json!({"width": width, "height": height, "deviceScaleFactor": 1, "mobile": width < 500});
        self.ask("Emulation.setDeviceMetricsOverride", &size);
        let scheme = if is_dark { "dark" } else { "light" };
        let media = json!({"features": [{"name": "prefers-color-scheme", "value": scheme}]});
        self.ask("Emulation.setEmulatedMedia", &media);
        self.ask("Page.navigate", &json!({"url": url}));
        while self.next()["method"] != json!("Page.loadEventFired") {}
    }

    /// What an expression comes to in the page, once it has come to something.
    pub fn value(&mut self, expression: &str) -> Value {
        let ask = json!({"expression": expression, "awaitPromise": true, "returnByValue": true});
        let answer = self.ask("Runtime.evaluate", &ask);
        let thrown = &answer["exceptionDetails"];
        assert!(thrown.is_null(), "{expression:.200}: {thrown}");
        answer["result"]["value"].clone()
    }

    /// A picture of what is shown, as PNG.
    pub fn picture(&mut self) -> Vec<u8> {
        let shot = self.ask("Page.captureScreenshot", &json!({"format": "png"}));
        base64(shot["data"].as_str().unwrap())
    }
}

impl Drop for Browser {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
        // What it may have left in its pipe is nobody's any more.
        let _ = self.from.get_mut().read(&mut [0; 1]);
    }
}

/// The bytes of a base64 text (RFC 4648).
fn base64(text: &str) -> Vec<u8> {
    let value = |c: u8| match c {
        b'A'..=b'Z' => c - b'A',
        b'a'..=b'z' => c - b'a' + 26,
        b'0'..=b'9' => c - b'0' + 52,
        b'+' => 62,
        _ => 63,
    };
    let mut bytes = Vec::with_capacity(text.len() * 3 / 4);
    for four in text.as_bytes().chunks(4) {
        let known: Vec<u8> = four
            .iter()
            .filter(|c| **c != b'=')
            .map(|c| value(*c))
            .collect();
        let bits = known
            .iter()
            .fold(0u32, |bits, v| (bits << 6) | u32::from(*v));
        let bits = bits << (6 * (4 - known.len()));
        bytes.extend_from_slice(&bits.to_be_bytes()[1..known.len()]);
    }
    bytes
}
