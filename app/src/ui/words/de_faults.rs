//! What is wrong with codes, with the crew's files and with the shop log, in German.

use trayzero_core::shop_log::{LOG_FORMAT, LOG_LINE_BYTES_MAX, LOG_LINES_MAX, LineFault};

use crate::data::crew::{CodeError, CrewFault, WhyFaulty};
use crate::data::store::{Doing, GoesOnAsNew, InGerman, WhyNew};

impl InGerman for CodeError {
    fn in_german(&self) -> String {
        use CodeError as E;
        match self {
            E::NoSuchPerson(name) => format!("niemand namens „{name}“ ist in der Mannschaft"),
            E::NoCode(name) => {
                format!("{name} hat noch keinen Code; beim Setzen muss der Meister dabei sein")
            }
            E::Wrong { wait_s } => {
                format!("der Code ist falsch; der nächste Versuch ist in {wait_s} s möglich")
            }
            E::Wait { wait_s } => {
                format!(
                    "zu früh nach einem falschen Code; der nächste Versuch ist in {wait_s} s möglich"
                )
            }
            E::NoForeman(name) => format!("{name} ist kein Meister"),
            E::LastForeman(name) => {
                format!("{name} ist der letzte Meister mit einem Code; erst einen anderen machen")
            }
            E::BadName(name) => format!(
                "„{name}“ kann kein neuer Name sein: 1 bis 40 druckbare Zeichen, noch nicht in Gebrauch"
            ),
            E::NotTheFirst => "die Mannschaft hat schon einen Meister, der zustimmen muss".into(),
            E::Full(most) => format!("die Mannschaft hat {most} Leute; mehr werden nicht geführt"),
            E::TooSimple => {
                "ein Code hat sechs Ziffern oder ist ein Wort aus 6 bis 64 Zeichen; weder \
                         alle gleich noch auf- oder abwärts gezählt"
                    .into()
            }
            E::NotHere(name) => format!(
                "der Schlüssel von {name} ist noch nicht auf diesem Tablet; er kommt mit dem \
             Werkstattordner"
            ),
            E::TakeOverFirst => {
                "erst muss ein Meister die Leute aus der Fassung davor übernehmen".into()
            }
            E::Unhashed(why) => format!("der Code konnte nicht geprüft werden: {why}"),
            E::Refused(why) => why.in_german(),
            E::Faulty(fault) | E::Disk(fault) => fault.in_german(),
        }
    }
}

impl InGerman for CrewFault {
    fn in_german(&self) -> String {
        use WhyFaulty as Y;
        let why = match &self.why {
            Y::Missing => "sie fehlt".to_owned(),
            Y::OtherSeal => "sie ist nicht von diesem Tablet versiegelt".to_owned(),
            Y::OtherCard => {
                "sie ist nicht von dem Tablet versiegelt, von dem sie spricht".to_owned()
            }
            Y::NoCard(why) => why.in_german(),
            Y::Changed(_) => "sie wurde nach dem Versiegeln von Hand geändert".to_owned(),
            Y::Unreadable(why) => format!("sie ist nicht zu lesen ({why})"),
            Y::Disk { doing, cause } => format!("{cause}, {}", while_doing(*doing)),
            Y::NoKey => "sie ist kein Schlüssel: 64 Hexziffern".to_owned(),
            Y::NoShop => "sie nennt keine Werkstatt".to_owned(),
            Y::NotFounded => {
                "die Zeile, mit der die Werkstatt beginnt, fehlt oder stimmt nicht".to_owned()
            }
            Y::Line(fault) => fault.in_german(),
            Y::NoFile => "es ist keine einfache Datei".to_owned(),
            Y::NotTheLast => "es ist nicht die zuletzt geschriebene".to_owned(),
            Y::NoFreeName => {
                "es ist kein Name frei, unter dem es beiseitegelegt werden kann".to_owned()
            }
            Y::WrittenAnew => {
                "jemand anderes hat sie geändert; sie wird neu geschrieben".to_owned()
            }
            Y::LinesGone => {
                "sie hat die Zeilen nicht mehr, die schon geprüft waren; hier bleiben sie"
                    .to_owned()
            }
            Y::TooMany(all, read) => format!(
                "{all} Dateien, angesehen werden {read}: jemand füllt den Ordner. Leert ihn: jedes \
             Tablet der Werkstatt zeigt sich darin von selbst wieder"
            ),
        };
        let path = self.path.display();
        match self.line {
            Some(line) => format!("{path}, Zeile {line}: {why}"),
            None => format!("{path}: {why}"),
        }
    }
}

impl InGerman for LineFault {
    fn in_german(&self) -> String {
        match self {
            LineFault::TooLong => format!("mehr als {LOG_LINE_BYTES_MAX} Byte"),
            LineFault::NoLine(why) => format!("sie ist nicht zu lesen ({why})"),
            LineFault::OtherFormat(format) => {
                format!("Format {format}; dieses Programm kennt Format {LOG_FORMAT}")
            }
            LineFault::OtherSpelling => {
                "sie ist nicht geschrieben, wie sie es sein müsste".to_owned()
            }
            LineFault::HalfSigned => {
                "jemand ist ohne Unterschrift genannt oder unterschreibt ungenannt".to_owned()
            }
            LineFault::TabletsSeal => "die Unterschrift des Tablets stimmt nicht".to_owned(),
            LineFault::PersonsSeal => "die Unterschrift der Person stimmt nicht".to_owned(),
            LineFault::OthersLine => "es ist die Zeile eines anderen Tablets".to_owned(),
            LineFault::DoesNotFollow => "sie folgt nicht auf die Zeile davor".to_owned(),
            LineFault::TooMany => format!("mehr als {LOG_LINES_MAX} Zeilen"),
        }
    }
}

pub(super) fn while_doing(doing: Doing) -> &'static str {
    match doing {
        Doing::Reading => "beim Lesen",
        Doing::Writing => "beim Schreiben",
        Doing::Copying => "beim Kopieren",
        Doing::Listing => "beim Auflisten",
        Doing::MakingFolder => "beim Anlegen des Ordners",
        Doing::SettingAside => "beim Beiseitelegen",
        Doing::KeepingShared => "beim Behalten dessen, was beide Kopien haben",
        Doing::Comparing => "beim Vergleich mit dem Werkstattordner",
    }
}

impl InGerman for GoesOnAsNew {
    fn in_german(&self) -> String {
        let why = match self.why {
            WhyNew::Missing(file) => format!("{file} fehlt"),
            WhyNew::Apart(one, other) => format!("{one} und {other} gehören nicht zusammen"),
        };
        let (root, tablet) = (self.root.display(), self.tablet);
        format!("{why} in {root}: dieses Tablet geht als neues weiter, {tablet}")
    }
}
