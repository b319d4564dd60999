//! A display of its own, and when something shows on it.

use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

use x11rb::connection::Connection;
use x11rb::protocol::xproto::{ConnectionExt, ImageFormat, Window};
use x11rb::rust_connection::RustConnection;

use super::memory::memory_mb;

/// Size in pixels.
pub const SIZE: (u16, u16) = (1280, 800);

pub struct Display {
    server: Child,
    name: String,
    runtime: tempfile::TempDir,
    x: RustConnection,
    root: Window,
    /// The colour of its middle while no window stands there.
    nothing: Vec<u8>,
}

impl Display {
    pub fn start() -> Self {
        let screen = format!("{}x{}x24", SIZE.0, SIZE.1);
        let args = ["-displayfd", "1", "-screen", "0", &screen];
        let mut server = Command::new("Xvfb")
            .args(args)
            .args(["-nolisten", "tcp"])
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("Xvfb is installed");
        let mut number = String::new();
        BufReader::new(server.stdout.take().unwrap())
            .read_line(&mut number)
            .unwrap();
        let name = format!(":{}", number.trim());
        let (x, screen) = RustConnection::connect(Some(&name)).unwrap();
        let root = x.setup().roots[screen].root;
        let mut display = Self {
            server,
            name,
            runtime: tempfile::tempdir().unwrap(),
            x,
            root,
            nothing: Vec::new(),
        };
        display.nothing = display.middle();
        display
    }

    /// The colours of what the display shows in an area, four bytes a pixel.
    fn colours(&self, (x, y): (i16, i16), (wide, high): (u16, u16)) -> Vec<u8> {
        let format = ImageFormat::Z_PIXMAP;
        let asked = self
            .x
            .get_image(format, self.root, x, y, wide, high, u32::MAX);
        asked.unwrap().reply().unwrap().data
    }

    /// The colour of its middle.
    fn middle(&self) -> Vec<u8> {
        self.colours((SIZE.0 as i16 / 2, SIZE.1 as i16 / 2), (1, 1))
    }

    /// All that it shows.
    pub fn picture(&self) -> Vec<u8> {
        self.colours((0, 0), SIZE)
    }

    /// Starts a program and gives the milliseconds until it shows something.
    pub fn open(&self, program: &Path, args: &[&str]) -> (Running, f64) {
        // The window of a program that was ended a moment ago may still stand there.
        let limit = Duration::from_secs(30);
        let before = Instant::now();
        while self.middle() != self.nothing {
            assert!(before.elapsed() < limit, "the display does not empty");
            sleep(Duration::from_millis(1));
        }
        let start = Instant::now();
        let child = Command::new(program)
            .args(args)
            .env("DISPLAY", &self.name)
            .env("XDG_RUNTIME_DIR", self.runtime.path())
            .env("WINIT_X11_SCALE_FACTOR", "1")
            .env_remove("WAYLAND_DISPLAY")
            .stderr(Stdio::null())
            .spawn()
            .unwrap_or_else(|e| panic!("{}: {e}", program.display()));
        let running = Running(child);
        while self.middle() == self.nothing {
            assert!(
                start.elapsed() < limit,
                "{} shows nothing",
                program.display()
            );
            sleep(Duration::from_micros(200));
        }
        (running, start.elapsed().as_secs_f64() * 1e3)
    }

    /// A tap of the pointer.
    pub fn tap(&self, at: egui::Pos2) {
        let (x, y) = (at.x.round().to_string(), at.y.round().to_string());
        let steps: [&[&str]; 3] = [
            &["mousemove", &x, &y],
            &["mousedown", "1"],
            &["mouseup", "1"],
        ];
        for args in steps {
            let done = Command::new("xdotool")
                .args(args)
                .env("DISPLAY", &self.name)
                .status();
            assert!(done.is_ok_and(|status| status.success()), "xdotool");
            sleep(Duration::from_millis(50));
        }
    }
}

impl Drop for Display {
    fn drop(&mut self) {
        let _ = self.server.kill();
        let _ = self.server.wait();
    }
}

/// A program at work; it ends with the value.
pub struct Running(Child);

impl Running {
    /// Resident memory in megabytes (millions of bytes).
    pub fn resident_mb(&self) -> f64 {
        memory_mb(&self.0.id().to_string(), "VmRSS:")
    }

    /// Seconds of processor that it has used so far, all threads.
    pub fn processor_s(&self) -> f64 {
        let mut all = 0;
        for thread in std::fs::read_dir(format!("/proc/{}/task", self.0.id())).unwrap() {
            let path = thread.unwrap().path().join("schedstat");
            let text = std::fs::read_to_string(path).unwrap_or_default();
            all += text
                .split_whitespace()
                .next()
                .and_then(|ns| ns.parse::<u64>().ok())
                .unwrap_or(0);
        }
        all as f64 / 1e9
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}
