//! What the system is asked for: to keep the screen on, and how much the battery holds.
//!
//! Each is asked over a bus, in a thread of its own that sleeps until there is something to
//! say or to hear. Where nothing answers, the settings say so.

mod awake;
mod battery;

use std::sync::mpsc::{Sender, channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread;

/// Below so many percent a battery that is being emptied is low (common practice, no
/// source).
pub const LOW_PERCENT: f64 = 20.0;

/// Whether a service has answered.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Answer {
    /// It was not asked yet.
    #[default]
    NotAsked,
    /// It answers.
    Answers,
    /// Nothing answers.
    Silent,
}

/// What the battery holds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Battery {
    /// Percent of what it can hold.
    pub percent: f64,
    /// Whether it is being emptied.
    pub is_emptied: bool,
    /// Minutes until it is empty, where the system knows.
    pub minutes_left: Option<u32>,
}

impl Battery {
    /// Whether it may end before the job does.
    pub fn is_low(&self) -> bool {
        self.is_emptied && self.percent <= LOW_PERCENT
    }
}

/// What the screens see of it.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct PowerView {
    /// Whether the system keeps the screen on when it is asked.
    pub awake: Answer,
    /// Whether the screen is kept on now.
    pub is_awake: bool,
    /// Whether the system tells of its battery.
    pub told: Answer,
    /// The battery, if there is one.
    pub battery: Option<Battery>,
}

/// Where the buses are, if not where the system says.
#[derive(Clone, Debug, Default)]
pub struct Buses {
    /// Address of the session's bus.
    pub session: Option<String>,
    /// Address of the system's bus.
    pub system: Option<String>,
}

/// Wakes the window when there is news.
pub type Wake = Arc<dyn Fn() + Send + Sync>;

#[derive(Clone)]
struct PowerNews {
    view: Arc<Mutex<PowerView>>,
    wake: Wake,
}

impl PowerNews {
    fn tell(&self, change: impl FnOnce(&mut PowerView)) {
        let is_new = {
            let mut view = self.view.lock().unwrap_or_else(PoisonError::into_inner);
            let before = *view;
            change(&mut view);
            *view != before
        };
        if is_new {
            (self.wake)();
        }
    }
}

/// Asks the system. Its threads end with the program.
pub struct Power {
    news: PowerNews,
    wanted: Sender<bool>,
    is_wanted: bool,
}

impl Power {
    /// Begins to listen to the battery; `wake` is called when something is new.
    pub fn start(wake: Wake) -> Self {
        Self::on(Buses::default(), wake)
    }

    /// The same on other buses.
    pub fn on(buses: Buses, wake: Wake) -> Self {
        let news = PowerNews {
            view: Arc::default(),
            wake,
        };
        let (wanted, orders) = channel();
        let system = buses.system.clone();
        let (to_awake, to_battery) = (news.clone(), news.clone());
        // A thread that cannot be had means that nothing is asked, as where nothing answers.
        let _ = thread::Builder::new()
            .name("keep awake".into())
            .spawn(move || awake::carry_out(buses.session.as_deref(), &orders, &to_awake));
        let _ = thread::Builder::new()
            .name("battery".into())
            .spawn(move || battery::listen(system.as_deref(), &to_battery));
        Self {
            news,
            wanted,
            is_wanted: false,
        }
    }

    /// Asks for the screen to be kept on, or lets it go. Asked again it does nothing.
    pub fn keep_awake(&mut self, is_wanted: bool) {
        if self.is_wanted != is_wanted {
            self.is_wanted = is_wanted;
            let _ = self.wanted.send(is_wanted);
        }
    }

    /// What is known now.
    pub fn view(&self) -> PowerView {
        *self
            .news
            .view
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
    }
}
