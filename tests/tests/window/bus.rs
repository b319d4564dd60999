//! Keeping the screen on and the battery, over a real bus: a `dbus-daemon` of our own, on
//! which a small service of our own stands for the desktop's.
#![expect(
    clippy::needless_pass_by_value,
    clippy::unused_self,
    clippy::used_underscore_binding,
    reason = "the desktop's interfaces set the shape of a method, whatever it needs of it"
)]

use std::collections::HashMap;
use std::io::{BufRead, BufReader};
use std::process::{Child, Command, Stdio};
use std::sync::{Arc, Mutex};
use std::thread::sleep;
use std::time::Duration;

use egui::vec2;
use futures_lite::future::block_on;
use trayzero::power::{Answer, Battery, Buses, Power};
use trayzero::ui::words::EN;
use zbus::Connection;
use zbus::connection::Builder;
use zbus::object_server::SignalEmitter;
use zbus::zvariant::OwnedValue;

use super::display::{Display, wait_for};
use super::drive::Drive;
use super::{ONE_WINDOW, alone, furnish};

/// A bus of its own, and who is on it.
struct Bus {
    daemon: Child,
    address: String,
}

impl Bus {
    fn start() -> Self {
        let mut daemon = Command::new("dbus-daemon")
            .args(["--session", "--nofork", "--print-address", "1"])
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("dbus-daemon is installed (tests/run installs it)");
        let mut address = String::new();
        let said = daemon.stdout.take().unwrap();
        BufReader::new(said).read_line(&mut address).unwrap();
        Self {
            daemon,
            address: address.trim().to_owned(),
        }
    }

    fn power(&self) -> Power {
        let buses = Buses {
            session: Some(self.address.clone()),
            system: Some(self.address.clone()),
        };
        Power::on(buses, Arc::new(|| {}))
    }
}

impl Drop for Bus {
    fn drop(&mut self) {
        let _ = self.daemon.kill();
        let _ = self.daemon.wait();
    }
}

/// What was asked for, in order.
type Asked = Arc<Mutex<Vec<String>>>;

struct Saver(Asked);

#[zbus::interface(name = "org.freedesktop.ScreenSaver")]
impl Saver {
    fn inhibit(&self, name: &str, why: &str) -> u32 {
        assert!(!why.is_empty());
        self.0.lock().unwrap().push(format!("inhibit {name}"));
        77
    }

    #[zbus(name = "UnInhibit")]
    fn un_inhibit(&self, cookie: u32) {
        self.0.lock().unwrap().push(format!("let go {cookie}"));
    }
}

struct Portal(Asked);

#[zbus::interface(name = "org.freedesktop.portal.Inhibit")]
impl Portal {
    fn inhibit(
        &self,
        _window: &str,
        flags: u32,
        options: HashMap<String, OwnedValue>,
    ) -> zbus::zvariant::OwnedObjectPath {
        assert!(options.contains_key("reason"));
        self.0.lock().unwrap().push(format!("portal {flags}"));
        zbus::zvariant::OwnedObjectPath::try_from("/request/1").unwrap()
    }
}

struct Request(Asked);

#[zbus::interface(name = "org.freedesktop.portal.Request")]
impl Request {
    fn close(&self) {
        self.0.lock().unwrap().push("portal let go".to_owned());
    }
}

/// `UPower`'s display device.
struct Device {
    percent: f64,
}

#[zbus::interface(name = "org.freedesktop.UPower.Device")]
impl Device {
    #[zbus(property)]
    fn percentage(&self) -> f64 {
        self.percent
    }
    #[zbus(property)]
    fn is_present(&self) -> bool {
        true
    }
    #[zbus(property)]
    fn state(&self) -> u32 {
        2
    }
    #[zbus(property)]
    fn time_to_empty(&self) -> i64 {
        1_500
    }
}

const DISPLAY: &str = "/org/freedesktop/UPower/devices/DisplayDevice";

fn saver(bus: &Bus, asked: &Asked) -> Connection {
    let serve = Builder::address(bus.address.as_str())
        .unwrap()
        .serve_at("/org/freedesktop/ScreenSaver", Saver(Arc::clone(asked)))
        .unwrap()
        .name("org.freedesktop.ScreenSaver")
        .unwrap();
    block_on(serve.build()).unwrap()
}

fn portal(bus: &Bus, asked: &Asked) -> Connection {
    let serve = Builder::address(bus.address.as_str())
        .unwrap()
        .serve_at("/org/freedesktop/portal/desktop", Portal(Arc::clone(asked)))
        .unwrap()
        .serve_at("/request/1", Request(Arc::clone(asked)))
        .unwrap()
        .name("org.freedesktop.portal.Desktop")
        .unwrap();
    block_on(serve.build()).unwrap()
}

fn has(asked: &Asked, wanted: &[&str]) -> bool {
    *asked.lock().unwrap() == wanted
}

#[test]
fn the_screen_is_kept_on_and_let_go_over_the_session_bus() {
    let (bus, asked) = (Bus::start(), Asked::default());
    let _service = saver(&bus, &asked);
    let mut power = bus.power();
    assert_eq!(power.view().awake, Answer::NotAsked);
    power.keep_awake(true);
    power.keep_awake(true);
    wait_for("the request", || has(&asked, &["inhibit Tray Zero"]));
    wait_for("the answer", || power.view().is_awake);
    assert_eq!(power.view().awake, Answer::Answers);
    power.keep_awake(false);
    let both = ["inhibit Tray Zero", "let go 77"];
    wait_for("the end of it", || has(&asked, &both));
    wait_for("the view", || !power.view().is_awake);
    println!("kept awake by the screen saver's interface: {both:?}");
}

#[test]
fn where_no_screen_saver_answers_the_portal_is_asked() {
    let (bus, asked) = (Bus::start(), Asked::default());
    let _service = portal(&bus, &asked);
    let mut power = bus.power();
    power.keep_awake(true);
    wait_for("the request", || has(&asked, &["portal 8"]));
    wait_for("the answer", || power.view().is_awake);
    power.keep_awake(false);
    wait_for("the end of it", || {
        has(&asked, &["portal 8", "portal let go"])
    });
    println!("kept awake by the portal");
}

#[test]
fn where_nothing_answers_it_is_said() {
    let bus = Bus::start();
    let mut power = bus.power();
    power.keep_awake(true);
    wait_for("word", || power.view().awake == Answer::Silent);
    assert!(!power.view().is_awake);
    wait_for("word", || power.view().told == Answer::Silent);
    assert_eq!(power.view().battery, None);
}

#[test]
fn the_battery_is_read_and_followed() {
    let bus = Bus::start();
    let serve = Builder::address(bus.address.as_str())
        .unwrap()
        .serve_at(DISPLAY, Device { percent: 64.0 })
        .unwrap()
        .name("org.freedesktop.UPower")
        .unwrap();
    let service = block_on(serve.build()).unwrap();
    let power = bus.power();
    wait_for("the battery", || power.view().battery.is_some());
    let battery = power.view().battery.unwrap();
    assert_eq!(
        battery,
        Battery {
            percent: 64.0,
            is_emptied: true,
            minutes_left: Some(25)
        }
    );
    assert!(!battery.is_low());
    block_on(async {
        let device = service
            .object_server()
            .interface::<_, Device>(DISPLAY)
            .await
            .unwrap();
        device.get_mut().await.percent = 9.0;
        let emitter: &SignalEmitter<'_> = device.signal_emitter();
        device
            .get()
            .await
            .percentage_changed(emitter)
            .await
            .unwrap();
    });
    wait_for("the low battery", || {
        power.view().battery.is_some_and(|battery| battery.is_low())
    });
    println!("battery followed from 64 to 9 percent");
}

#[test]
fn the_window_itself_asks_while_air_is_on() {
    let _alone = alone(&ONE_WINDOW);
    let root = tempfile::tempdir().unwrap();
    let data = root.path().join("data");
    furnish(&data);
    // A tap alone keeps nothing on here.
    std::fs::write(data.join("settings.json"), r#"{"awake_min": 0}"#).unwrap();
    let (bus, asked) = (Bus::start(), Asked::default());
    let _service = saver(&bus, &asked);
    let size = vec2(1280.0, 800.0);
    let mirror = super::mirror::Mirror::of(&data, &data.with_extension("mirror"), size);
    let mut display = Display::start(size);
    display.bus = Some(bus.address.clone());
    let mut d = Drive::on(display, mirror, &data, size);
    d.tap("Bay 3 · sweeper 07");
    d.tap("The engine stands as shown");
    sleep(Duration::from_millis(500));
    assert!(has(&asked, &[]), "nothing is open yet: {asked:?}");
    d.go_to_air_on();
    wait_for("the request", || has(&asked, &["inhibit Tray Zero"]));
    // Whoever goes to the list and on to the settings still has air on in that bay.
    d.tap(EN.back);
    d.tap(EN.settings);
    sleep(Duration::from_millis(500));
    assert!(has(&asked, &["inhibit Tray Zero"]), "{asked:?}");
    d.close();
    println!("the window asked when air went on, and did not let go in the list");
}
