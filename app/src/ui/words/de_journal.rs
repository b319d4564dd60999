//! What is wrong with journals, in German.

use trayzero_core::journal::{Complaint, FORMAT, JournalError, JournalFault, JournalWhy, Torn};

use crate::data::store::{InGerman, ProposeError, StoreNote};

impl InGerman for JournalWhy {
    fn in_german(&self) -> String {
        match self {
            Self::FileTooLarge { bytes, most } => {
                format!("die Datei hat {bytes} Byte; gelesen werden höchstens {most}")
            }
            Self::FileTooLong(most) => format!("die Datei hat mehr als {most} Byte"),
            Self::ReadBefore => "die Zeilen, die schon gelesen waren, sind andere".into(),
            Self::NoLink => "die Zeile endet nicht mit ihrem Glied".into(),
            Self::DoesNotFollow => {
                "sie folgt nicht aus der Zeile davor: eine der beiden wurde geändert".into()
            }
            Self::Elsewhere { here, path } => {
                format!("{here}, wo Datei und Ordner {path} sagen")
            }
            Self::FormatAgain(format, after) => format!("noch einmal {format} nach {after}"),
            Self::EventOfLater(format, later) => {
                format!("kein Ereignis von Format {format}: es gibt es ab {later}")
            }
            Self::NotDue(n, due) => format!("{n}, wo {due} kommen muss"),
            Self::ClockStands(clock) => format!("{clock:?} ist nicht später als die Zeile davor"),
            Self::LineTooLong(most) => format!("länger als {most} Byte"),
            Self::NotEnded => "wo die Zeile enden müsste, steht etwas anderes".into(),
            Self::Disk(why) => format!("hier war nicht zu lesen: {why}"),
            Self::NoRoom => "nach dem Jahr 9000: danach wäre nichts mehr zu schreiben".into(),
            Self::Past9999(ms) => format!("{ms} ms liegt nach dem Jahr 9999"),
            Self::Time(time) => format!("„{}“ ist keine Zeit nach RFC 3339", time.text),
            Self::NoFormat => "0 ist kein Format".into(),
            Self::NoHeader(why) => format!("kein Kopf eines Journals ({why})"),
            Self::NoJson(why) => format!("kein JSON-Objekt ({why})"),
            Self::Missing => "fehlt".into(),
            Self::UnknownField => "unbekanntes Feld".into(),
            Self::Json(why) => format!("nicht zu lesen ({why})"),
            Self::NoKey => "der Schlüssel ist kein ed25519-Schlüssel aus 64 Hexziffern".into(),
            Self::NoSignature => "die Signatur sind nicht 128 Hexziffern".into(),
            Self::OtherLine => "die Signatur ist nicht über die Zeile davor".into(),
            Self::OtherKey => "mit einem anderen Schlüssel als dem dieses Tablets signiert".into(),
            Self::KeyNotAdmitted => {
                "mit einem anderen Schlüssel signiert, als die Werkstatt von diesem Tablet kennt"
                    .into()
            }
            Self::OtherFormat(format) => {
                format!("Format {format}; dieses Programm kennt {FORMAT}")
            }
            Self::OtherJournal => "es ist von einem anderen Journal".into(),
            Self::EndIsNoLink => "sein Ende ist kein Glied".into(),
            Self::NotAdmitted => {
                "niemand hat dieses Tablet in die Werkstatt aufgenommen; nichts davon wird erzählt"
                    .into()
            }
            Self::NotSealed(why) => {
                let why = why.as_ref().map(|why| format!(": {}", why.in_german()));
                let from_here = "von hier an hat kein Tablet der Werkstatt es versiegelt";
                format!("{from_here}{}", why.unwrap_or_default())
            }
        }
    }
}

impl InGerman for Complaint {
    fn in_german(&self) -> String {
        let why = self.why.in_german();
        match (self.line, &*self.field) {
            (None, _) => format!("das Siegel daneben: {why}"),
            (Some(line), "") => format!("Zeile {line}: {why}"),
            (Some(line), field) => format!("Zeile {line}, Feld „{field}“: {why}"),
        }
    }
}

impl InGerman for JournalFault {
    fn in_german(&self) -> String {
        let (line, field, why) = (Some(self.line), self.field.clone(), self.why.clone());
        let complaint = Complaint { line, field, why }.in_german();
        format!("{}, {complaint}", self.file.display())
    }
}

impl InGerman for Torn {
    fn in_german(&self) -> String {
        format!(
            "{}, Zeile {}: {} Byte einer Zeile, die nie fertig wurde, ab Byte {}",
            self.file.display(),
            self.line,
            self.bytes.len(),
            self.offset
        )
    }
}

impl InGerman for StoreNote {
    fn in_german(&self) -> String {
        match self {
            Self::Torn(torn) => format!(
                "{}. Als geschehen wurde sie nie gezeigt; aufgehoben ist sie daneben",
                torn.in_german()
            ),
            Self::SealNotKept(error) => format!(
                "die Unterschrift des Tablets ließ sich nicht aufheben: {}",
                error.in_german()
            ),
        }
    }
}

impl InGerman for ProposeError {
    fn in_german(&self) -> String {
        match self {
            // Where it may come up its words are shown, not these.
            Self::Refused { refusal, .. } => format!("abgelehnt: {}", refusal.code()),
            Self::Disk { why, .. } | Self::ReadOnly(why) => why.in_german(),
        }
    }
}

impl InGerman for JournalError {
    fn in_german(&self) -> String {
        match self {
            Self::SecondWriter { file } => format!(
                "{}: ein zweites Programm schreibt an diesem Auftrag; erst dort schließen",
                file.display()
            ),
            Self::NoSpace { file, .. } => format!(
                "{}: kein Platz mehr auf der Platte; Platz schaffen, dann den Auftrag neu öffnen",
                file.display()
            ),
            Self::ReadOnly { file, cause, .. } => {
                format!(
                    "{}: hier darf nicht geschrieben werden ({cause})",
                    file.display()
                )
            }
            Self::Gone { file } => format!(
                "{}: die Datei wurde gelöscht, während sie offen war; darin bleibt nichts mehr",
                file.display()
            ),
            Self::Changed {
                file,
                expected,
                found,
            } => format!(
                "{}: die Datei hat {found} Byte, wo {expected} geschrieben sind; ein anderes \
                 Programm hat sie geändert",
                file.display()
            ),
            // That error was told when it came.
            Self::Poisoned { file, .. } => format!(
                "{}: seit einem Fehler nicht mehr geschrieben; den Auftrag neu öffnen",
                file.display()
            ),
            Self::Io { file, cause, .. } => format!("{}: {cause}", file.display()),
            Self::Faulty(fault) => {
                let fault = fault.in_german();
                format!("{fault}; der Auftrag ist bis dahin zu lesen und wird nicht beschrieben")
            }
            Self::NewerFormat { file, format } => format!(
                "{}: in Format {format} geschrieben, dieses Programm schreibt {FORMAT}; sie wird \
                 gelesen, so weit es sie kennt, und nicht beschrieben",
                file.display()
            ),
            Self::Unwritable {
                file,
                id,
                field,
                why,
            } => format!(
                "{}: Ereignis {id} kann nicht geschrieben werden, Feld „{field}“: {why}",
                file.display()
            ),
        }
    }
}
