//! What the battery holds, from `UPower`'s display device: the one that a desktop shows.

use std::collections::HashMap;

use futures_lite::StreamExt;
use futures_lite::future::block_on;
use zbus::connection::Builder;
use zbus::zvariant::OwnedValue;
use zbus::{Connection, MatchRule, MessageStream, message};

use super::{Answer, Battery, PowerNews};

const UPOWER: &str = "org.freedesktop.UPower";
const DEVICE: &str = "org.freedesktop.UPower.Device";
const DISPLAY: &str = "/org/freedesktop/UPower/devices/DisplayDevice";
const PROPERTIES: &str = "org.freedesktop.DBus.Properties";
/// `UPower`'s state "discharging".
const DISCHARGING: u32 = 2;

/// Tells what the battery holds, now and whenever it changes.
pub(super) fn listen(address: Option<&str>, news: &PowerNews) {
    if block_on(follow(address, news)).is_err() {
        news.tell(|view| {
            view.told = Answer::Silent;
            view.battery = None;
        });
    }
}

async fn follow(address: Option<&str>, news: &PowerNews) -> zbus::Result<()> {
    let bus = match address {
        Some(address) => Builder::address(address)?.build().await?,
        None => Connection::system().await?,
    };
    let rule = MatchRule::builder()
        .msg_type(message::Type::Signal)
        .interface(PROPERTIES)?
        .member("PropertiesChanged")?
        .path(DISPLAY)?
        .build();
    // Listened to before it is asked, so that no change falls between.
    let mut changes = MessageStream::for_match_rule(rule, &bus, None).await?;
    loop {
        let battery = read(&bus).await?;
        news.tell(|view| {
            view.told = Answer::Answers;
            view.battery = battery;
        });
        if changes.next().await.is_none() {
            return Err(zbus::Error::InvalidReply);
        }
    }
}

async fn read(bus: &Connection) -> zbus::Result<Option<Battery>> {
    let reply = bus
        .call_method(
            Some(UPOWER),
            DISPLAY,
            Some(PROPERTIES),
            "GetAll",
            &(DEVICE,),
        )
        .await?;
    let body = reply.body();
    let all: HashMap<String, OwnedValue> = body.deserialize()?;
    let is_present = all.get("IsPresent").and_then(|v| bool::try_from(v).ok());
    let percent = all.get("Percentage").and_then(|v| f64::try_from(v).ok());
    let state = all.get("State").and_then(|v| u32::try_from(v).ok());
    let seconds = all.get("TimeToEmpty").and_then(|v| i64::try_from(v).ok());
    let Some(percent) = percent.filter(|_| is_present != Some(false)) else {
        return Ok(None);
    };
    Ok(Some(Battery {
        percent,
        is_emptied: state == Some(DISCHARGING),
        minutes_left: seconds
            .filter(|seconds| *seconds > 0)
            .and_then(|seconds| u32::try_from(seconds / 60).ok()),
    }))
}
