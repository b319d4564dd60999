//! Real fingers: an X server whose touchscreen is fed from here.
//!
//! Debian's `inputtest` driver takes touches from a socket (its protocol stands in
//! `xf86-input-inputtest-protocol.h`); to the window they are those of a screen.

use std::io::{Read, Write};
use std::os::unix::net::UnixStream;
use std::path::{Path, PathBuf};
use std::thread::sleep;
use std::time::Duration;

use egui::{Pos2, Vec2};

use super::display::wait_for;

/// Both axes of the touchscreen go from 0 to this over the screen.
const AXIS_MAX: f64 = 65_535.0;
const BEGINS: u32 = 18;
const MOVES: u32 = 19;
const ENDS: u32 = 20;

/// What the server is told of its screen and its touchscreen.
pub fn configuration(size: Vec2, socket: &Path) -> String {
    let (w, h) = (size.x as u32, size.y as u32);
    let line = format!(
        "\"{w}x{h}\" 83.50 {w} {} {} {} {h} {} {} {}",
        w + 72,
        w + 200,
        w + 400,
        h + 3,
        h + 9,
        h + 31
    );
    let socket = socket.display();
    format!(
        r#"Section "ServerLayout"
  Identifier "L"
  Screen "S"
  InputDevice "T" "SendCoreEvents"
EndSection
Section "Device"
  Identifier "D"
  Driver "dummy"
  VideoRam 256000
EndSection
Section "Monitor"
  Identifier "M"
  HorizSync 5.0 - 1000.0
  VertRefresh 5.0 - 400.0
  Modeline {line}
EndSection
Section "Screen"
  Identifier "S"
  Device "D"
  Monitor "M"
  DefaultDepth 24
  SubSection "Display"
    Depth 24
    Modes "{w}x{h}"
    Virtual {w} {h}
  EndSubSection
EndSection
Section "InputDevice"
  Identifier "T"
  Driver "inputtest"
  Option "SocketPath" "{socket}"
  Option "DeviceType" "Touch"
  Option "TouchCount" "5"
EndSection
Section "ServerFlags"
  Option "AutoAddDevices" "false"
  Option "AutoEnableDevices" "false"
  Option "AllowEmptyInput" "true"
EndSection
"#
    )
}

/// The glass of a screen of a size.
pub struct Glass {
    stream: UnixStream,
    size: Vec2,
}

impl Glass {
    /// Reaches the driver, which takes one connection in the server's life.
    pub fn reach(socket: &Path, size: Vec2) -> Self {
        let socket: PathBuf = socket.to_owned();
        let mut stream = None;
        wait_for("the touchscreen", || {
            stream = UnixStream::connect(&socket).ok();
            stream.is_some()
        });
        let mut stream = stream.unwrap();
        let mut version = Vec::new();
        version.extend(12_u32.to_le_bytes());
        version.extend(0_u32.to_le_bytes());
        version.extend(1_u16.to_le_bytes());
        version.extend(1_u16.to_le_bytes());
        stream.write_all(&version).unwrap();
        let mut answer = [0_u8; 12];
        stream.read_exact(&mut answer).unwrap();
        Self { stream, size }
    }

    fn send(&mut self, id: u32, kind: u32, at: Pos2) {
        let mut message = Vec::with_capacity(1056);
        for word in [1056, 6, id, kind, 0] {
            message.extend(u32::to_le_bytes(word));
        }
        message.extend([3, 0, 0, 0, 0, 0, 0, 0]);
        message.extend([0; 4]);
        let x = f64::from(at.x) / f64::from(self.size.x) * AXIS_MAX;
        let y = f64::from(at.y) / f64::from(self.size.y) * AXIS_MAX;
        for axis in 0..128 {
            let value: f64 = match axis {
                0 => x,
                1 => y,
                _ => 0.0,
            };
            message.extend(value.to_le_bytes());
        }
        assert_eq!(message.len(), 1056);
        self.stream.write_all(&message).unwrap();
    }

    /// A finger comes down and stays.
    pub fn down(&mut self, id: u32, at: Pos2) {
        self.send(id, BEGINS, at);
    }

    /// It moves.
    pub fn moved(&mut self, id: u32, at: Pos2) {
        self.send(id, MOVES, at);
    }

    /// It is lifted.
    pub fn up(&mut self, id: u32, at: Pos2) {
        self.send(id, ENDS, at);
    }

    /// A tap that slides by so many points on the way.
    pub fn tap(&mut self, id: u32, at: Pos2, slide: Vec2) {
        self.down(id, at);
        sleep(Duration::from_millis(25));
        if slide != Vec2::ZERO {
            self.moved(id, at + slide / 2.0);
            sleep(Duration::from_millis(15));
            self.moved(id, at + slide);
            sleep(Duration::from_millis(15));
        }
        self.up(id, at + slide);
    }

    /// Drags what lies there by so many points; the finger stays down where this gives.
    pub fn drag(&mut self, id: u32, from: Pos2, by: Vec2) -> Pos2 {
        // The first points are those of a tap that slides, whatever the glass rounds.
        let start = by.normalized() * 23.0;
        self.down(id, from);
        sleep(Duration::from_millis(15));
        self.moved(id, from + start);
        let steps = (by.length() / 20.0).ceil().max(1.0) as usize;
        for step in 1..=steps {
            sleep(Duration::from_millis(8));
            self.moved(id, from + start + by * (step as f32 / steps as f32));
        }
        from + start + by
    }
}
