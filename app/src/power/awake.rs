//! Keeping the screen on: freedesktop's idle inhibition (`org.freedesktop.ScreenSaver`),
//! and where that does not answer the desktop portal (`org.freedesktop.portal.Inhibit`).

use std::collections::BTreeMap;
use std::sync::mpsc::Receiver;

use futures_lite::future::block_on;
use zbus::Connection;
use zbus::connection::Builder;
use zbus::zvariant::{OwnedObjectPath, Value};

use super::{Answer, PowerNews};

const SAVER: &str = "org.freedesktop.ScreenSaver";
const SAVER_PATH: &str = "/org/freedesktop/ScreenSaver";
const PORTAL: &str = "org.freedesktop.portal.Desktop";
const PORTAL_PATH: &str = "/org/freedesktop/portal/desktop";
const INHIBIT: &str = "org.freedesktop.portal.Inhibit";
const REQUEST: &str = "org.freedesktop.portal.Request";
/// The portal's flag for "do not become idle".
const IDLE: u32 = 8;
/// What the system may show as the reason.
const WHY: &str = "A valve is open, air is on, or the bay was just used";
const NAME: &str = "Tray Zero";

/// What was granted, to give it back.
enum Held {
    Saver(u32),
    Portal(OwnedObjectPath),
}

/// Waits for orders and carries them out until nobody gives any.
pub(super) fn carry_out(address: Option<&str>, orders: &Receiver<bool>, news: &PowerNews) {
    let mut bus: Option<Connection> = None;
    let mut held: Option<Held> = None;
    while let Ok(mut is_wanted) = orders.recv() {
        // Only the latest order counts.
        while let Ok(later) = orders.try_recv() {
            is_wanted = later;
        }
        if bus.is_none() {
            bus = block_on(reach(address)).ok();
        }
        let Some(bus) = &bus else {
            news.tell(|view| view.awake = Answer::Silent);
            continue;
        };
        if is_wanted && held.is_none() {
            held = block_on(ask(bus));
            let answer = match held {
                Some(_) => Answer::Answers,
                None => Answer::Silent,
            };
            let is_awake = held.is_some();
            news.tell(|view| {
                view.awake = answer;
                view.is_awake = is_awake;
            });
        } else if !is_wanted && let Some(held) = held.take() {
            // Where giving back fails the service has gone, and what it granted with it.
            let _ = block_on(give_back(bus, held));
            news.tell(|view| view.is_awake = false);
        }
    }
}

async fn reach(address: Option<&str>) -> zbus::Result<Connection> {
    match address {
        Some(address) => Builder::address(address)?.build().await,
        None => Connection::session().await,
    }
}

async fn ask(bus: &Connection) -> Option<Held> {
    let saver = bus
        .call_method(
            Some(SAVER),
            SAVER_PATH,
            Some(SAVER),
            "Inhibit",
            &(NAME, WHY),
        )
        .await
        .and_then(|reply| reply.body().deserialize::<u32>());
    if let Ok(cookie) = saver {
        return Some(Held::Saver(cookie));
    }
    let options = BTreeMap::from([("reason", Value::from(WHY))]);
    let args = ("", IDLE, options);
    let portal = bus
        .call_method(Some(PORTAL), PORTAL_PATH, Some(INHIBIT), "Inhibit", &args)
        .await
        .and_then(|reply| reply.body().deserialize::<OwnedObjectPath>());
    portal.ok().map(Held::Portal)
}

async fn give_back(bus: &Connection, held: Held) -> zbus::Result<()> {
    match held {
        Held::Saver(cookie) => {
            let args = (cookie,);
            bus.call_method(Some(SAVER), SAVER_PATH, Some(SAVER), "UnInhibit", &args)
                .await?;
        }
        Held::Portal(request) => {
            bus.call_method(Some(PORTAL), &request, Some(REQUEST), "Close", &())
                .await?;
        }
    }
    Ok(())
}
