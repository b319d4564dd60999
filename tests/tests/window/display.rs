//! A display of its own with the real window on it, driven by real pointer events.

use std::cell::RefCell;
use std::ffi::OsStr;
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

use egui::{Pos2, Vec2};

use super::finger::{Glass, configuration};

/// The built program, beside the tests.
pub fn program() -> PathBuf {
    let mut path = std::env::current_exe().unwrap();
    path.pop();
    path.pop();
    path.push("trayzero");
    assert!(
        path.is_file(),
        "{} is not built: run `cargo build -p trayzero` first",
        path.display()
    );
    path
}

/// A virtual display.
pub struct Display {
    server: Child,
    name: String,
    runtime: tempfile::TempDir,
    /// The glass, where the display has one.
    glass: Option<RefCell<Glass>>,
    /// The bus of the session, if not the usual one.
    pub bus: Option<String>,
    /// How far the clock of the next window is ahead of the system's, in seconds.
    pub clock_ahead_s: u64,
}

impl Display {
    /// Starts a display of a size in pixels.
    pub fn start(size: Vec2) -> Self {
        let screen = format!("{}x{}x24", size.x, size.y);
        // The server chooses a free number itself and says it once it is ready.
        let mut server = Command::new("Xvfb")
            .args([
                "-displayfd",
                "1",
                "-screen",
                "0",
                &screen,
                "-nolisten",
                "tcp",
                // It must not begin anew when the first who asked has gone.
                "-noreset",
            ])
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("Xvfb is installed (tests/run installs it)");
        let mut number = String::new();
        let said = server.stdout.take().unwrap();
        BufReader::new(said).read_line(&mut number).unwrap();
        let display = Self {
            server,
            name: format!(":{}", number.trim()),
            runtime: tempfile::tempdir().unwrap(),
            glass: None,
            bus: None,
            clock_ahead_s: 0,
        };
        display.comes_up();
        display
    }

    /// Starts a display with a touchscreen.
    pub fn with_glass(size: Vec2) -> Self {
        let runtime = tempfile::tempdir().unwrap();
        let socket = runtime.path().join("glass");
        let file = runtime.path().join("xorg.conf");
        std::fs::write(&file, configuration(size, &socket)).unwrap();
        let mut server = Command::new("Xorg")
            .args(["-displayfd", "1", "-nolisten", "tcp", "-noreset"])
            .args(["-novtswitch", "-sharevts", "vt7", "-config"])
            .arg(&file)
            .arg("-logfile")
            .arg(runtime.path().join("log"))
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("Xorg is installed (tests/run installs it)");
        let mut number = String::new();
        let said = server.stdout.take().unwrap();
        BufReader::new(said).read_line(&mut number).unwrap();
        let display = Self {
            server,
            name: format!(":{}", number.trim()),
            glass: Some(RefCell::new(Glass::reach(&socket, size))),
            runtime,
            bus: None,
            clock_ahead_s: 0,
        };
        display.comes_up();
        display
    }

    /// The process of its server.
    pub fn id(&self) -> u32 {
        self.server.id()
    }

    /// Whether it is touched.
    pub fn has_glass(&self) -> bool {
        self.glass.is_some()
    }

    /// Its glass.
    pub fn glass(&self) -> std::cell::RefMut<'_, Glass> {
        self.glass.as_ref().unwrap().borrow_mut()
    }

    fn comes_up(&self) {
        let display = self;
        let answers = || {
            let mut ask = Command::new("xdpyinfo");
            ask.env("DISPLAY", &display.name)
                .stdout(Stdio::null())
                .stderr(Stdio::null());
            ask.status().is_ok_and(|s| s.success())
        };
        wait_for("the display", answers);
    }

    fn run(&self, program: &str, args: &[&str]) -> String {
        let out = Command::new(program)
            .args(args)
            .env("DISPLAY", &self.name)
            .output()
            .unwrap_or_else(|e| panic!("{program}: {e}"));
        assert!(out.status.success(), "{program} {args:?}: {out:?}");
        String::from_utf8_lossy(&out.stdout).into_owned()
    }

    /// Opens the program's window on a data folder and brings it to a size.
    pub fn open(&self, data: &Path, size: Vec2) -> Child {
        let mut command = Command::new(program());
        if self.clock_ahead_s > 0 {
            let library = later_clock(self.runtime.path());
            command.env("LD_PRELOAD", library);
            command.env("TRAYZERO_CLOCK_AHEAD_S", self.clock_ahead_s.to_string());
        }
        let child = command
            .arg("--data")
            .arg(data)
            .env("DISPLAY", &self.name)
            .env("XDG_RUNTIME_DIR", self.runtime.path())
            .envs(
                self.bus
                    .as_ref()
                    .map(|bus| ("DBUS_SESSION_BUS_ADDRESS", bus)),
            )
            .env("WINIT_X11_SCALE_FACTOR", "1")
            .env_remove("WAYLAND_DISPLAY")
            .spawn()
            .unwrap();
        wait_for("the window", || !self.windows().is_empty());
        let window = self.windows().remove(0);
        let (x, y) = (size.x.to_string(), size.y.to_string());
        self.run("xdotool", &["windowmove", &window, "0", "0"]);
        self.run("xdotool", &["windowsize", &window, &x, &y]);
        // There is no window manager that would give it the keyboard.
        self.run("xdotool", &["windowfocus", &window]);
        sleep(Duration::from_millis(1500));
        child
    }

    /// Opens the board of a folder over the whole screen, with a home of its own.
    pub fn open_office(&self, folder: &Path, home: &Path) -> Child {
        self.open_board(&[folder.as_os_str()], home)
    }

    /// The same of whatever these words name.
    pub fn open_board(&self, of: &[&OsStr], home: &Path) -> Child {
        let child = Command::new(program())
            .arg("board")
            .args(of)
            .arg("--window")
            .env("HOME", home)
            .env_remove("XDG_DATA_HOME")
            .env("DISPLAY", &self.name)
            .env("XDG_RUNTIME_DIR", self.runtime.path())
            .env("WINIT_X11_SCALE_FACTOR", "1")
            .env_remove("WAYLAND_DISPLAY")
            .spawn()
            .unwrap();
        wait_for("the window", || !self.windows().is_empty());
        let window = self.windows().remove(0);
        // There is no window manager that would give it the screen and the keyboard.
        self.run("xdotool", &["windowmove", &window, "0", "0"]);
        self.run("xdotool", &["windowfocus", &window]);
        child
    }

    /// Presses a key.
    pub fn press(&self, key: &str) {
        self.run("xdotool", &["key", key]);
    }

    fn windows(&self) -> Vec<String> {
        let out = Command::new("xdotool")
            .args(["search", "--onlyvisible", "--name", "Tray Zero"])
            .env("DISPLAY", &self.name)
            .output()
            .unwrap();
        let text = String::from_utf8_lossy(&out.stdout).into_owned();
        text.lines().map(str::to_owned).collect()
    }

    /// A tap of the pointer.
    pub fn tap(&self, at: Pos2) {
        if let Some(glass) = &self.glass {
            glass.borrow_mut().tap(1, at, Vec2::ZERO);
            return;
        }
        let (x, y) = (at.x.round().to_string(), at.y.round().to_string());
        let down = ["sleep", "0.03", "mousedown", "1"];
        let up = ["sleep", "0.04", "mouseup", "1"];
        let all = [&["mousemove", &x, &y][..], &down, &up].concat();
        self.run("xdotool", &all);
    }

    /// Waits until the server has passed on all that it was told.
    pub fn answers(&self) {
        self.run("xdotool", &["getmouselocation"]);
    }

    /// A key goes down and stays.
    pub fn key_down(&self, key: &str) {
        self.run("xdotool", &["keydown", key]);
    }

    /// It is let go.
    pub fn key_up(&self, key: &str) {
        self.run("xdotool", &["keyup", key]);
    }

    /// The keyboard goes elsewhere: to the ground below all windows.
    pub fn leave_window(&self) {
        let ground = self.run("xwininfo", &["-root", "-int"]);
        let at = ground.split("Window id: ").nth(1).unwrap();
        let root = at.split_whitespace().next().unwrap();
        self.run("xdotool", &["windowfocus", root]);
    }

    /// The keyboard comes back to the program's window.
    pub fn back_to_window(&self) {
        let window = self.windows().remove(0);
        self.run("xdotool", &["windowfocus", &window]);
        sleep(Duration::from_millis(100));
    }

    /// Marks all that stands in the field that has the cursor.
    pub fn select_all(&self) {
        self.run("xdotool", &["key", "ctrl+a"]);
    }

    /// Types a text.
    pub fn write(&self, text: &str) {
        // A key that lies down for long on a slow machine would write its sign twice.
        self.run("xdotool", &["type", "--delay", "2", text]);
    }

    /// Turns the wheel over a place by whole notches, down if positive.
    pub fn wheel(&self, at: Pos2, notches: i32) {
        let (x, y) = (at.x.round().to_string(), at.y.round().to_string());
        self.run("xdotool", &["mousemove", &x, &y]);
        let button = if notches > 0 { "5" } else { "4" };
        let times = notches.abs().to_string();
        self.run(
            "xdotool",
            &["click", "--repeat", &times, "--delay", "15", button],
        );
    }

    /// Keeps a picture of what the display shows.
    pub fn picture(&self, path: &Path) {
        let path = path.display().to_string();
        self.run("import", &["-window", "root", &path]);
    }
}

/// The library that puts a program's clock ahead, built from its source.
fn later_clock(folder: &Path) -> PathBuf {
    let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("shim/later_clock.c");
    let library = folder.join("later_clock.so");
    let mut build = Command::new("cc");
    build.args(["-shared", "-fPIC", "-O1", "-o"]);
    let built = build.arg(&library).arg(source).arg("-ldl").status();
    assert!(built.unwrap().success(), "the later clock is built");
    library
}

impl Drop for Display {
    fn drop(&mut self) {
        let _ = self.server.kill();
        let _ = self.server.wait();
    }
}

/// By so many points one notch of the wheel moves what scrolls: two lines of egui's, for
/// the window hears it twice (measured).
pub const NOTCH: f32 = 80.0;

/// Waits until something holds, for at most a minute.
pub fn wait_for(what: &str, mut holds: impl FnMut() -> bool) {
    let until = Instant::now() + Duration::from_mins(1);
    while !holds() {
        assert!(
            Instant::now() < until,
            "{what} did not come within a minute"
        );
        sleep(Duration::from_millis(50));
    }
}
