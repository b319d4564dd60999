//! What went wrong with files, journals, layouts and figures, in German. What
//! the system itself says stays as it says it.

use std::fmt::Display;

use trayzero_core::bench::BenchError;
use trayzero_core::engine::{LAYOUT_BYTES_MAX, LayoutFault};
use trayzero_core::journal::{FORMAT, JournalError};

use super::de::DE;
use super::de_faults::while_doing;
use crate::data::layouts::LayoutFileError;
use crate::data::own_layouts::OwnLayoutError;
use crate::data::store::sealed::SealedError;
use crate::data::store::{FileError, StoreError};

/// An error that says itself in English, and here in German.
pub trait InGerman: Display {
    /// What is wrong, naming the file.
    fn in_german(&self) -> String;
}

impl InGerman for FileError {
    fn in_german(&self) -> String {
        let (path, doing) = (self.path.display(), while_doing(self.doing));
        format!("{path}: {}, {doing}", self.cause)
    }
}

impl InGerman for SealedError {
    fn in_german(&self) -> String {
        match self {
            Self::File(error) => error.in_german(),
            Self::Unreadable { path, why } => {
                format!("{}: sie ist nicht zu lesen ({why})", path.display())
            }
            Self::Changed { path, why } => format!(
                "{}: sie wurde nach dem Versiegeln von Hand geändert ({why})",
                path.display()
            ),
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
            Self::Poisoned { file, cause } => format!(
                "{}: seit einem Fehler nicht mehr geschrieben ({cause}); den Auftrag neu öffnen",
                file.display()
            ),
            Self::Io { file, cause, .. } => format!("{}: {cause}", file.display()),
            Self::Faulty(fault) => {
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

impl InGerman for StoreError {
    fn in_german(&self) -> String {
        match self {
            Self::NoFolder => {
                "dieses System nennt keinen Ordner für Daten; mit --data nennen".into()
            }
            Self::NoChance { cause } => format!("das System gibt keine Zufallszahlen: {cause}"),
            Self::File(error) => error.in_german(),
            Self::Sealed(error) => error.in_german(),
            Self::Journal(error) => error.in_german(),
            Self::Unreadable { path, why } => {
                format!("{}: sie ist nicht zu lesen ({why})", path.display())
            }
            Self::BadName { name } => {
                format!("„{name}“ kann kein Name sein: 1 bis 40 druckbare Zeichen")
            }
            Self::NoSuchJob { job } => format!("der Auftrag {job} ist nicht auf diesem Tablet"),
            // Where it may come up its words are shown, not these.
            Self::Refused(refusal) => format!("abgelehnt: {}", refusal.code()),
        }
    }
}

impl InGerman for LayoutFileError {
    fn in_german(&self) -> String {
        match self {
            Self::Unreadable { path, source } => {
                format!("{} ist nicht zu lesen: {source}", path.display())
            }
            Self::NoFile { path } => format!("{} ist keine Datei", path.display()),
            Self::TooLarge { path, bytes } => format!(
                "{} hat {bytes} Byte; ein Motorplan hat höchstens {LAYOUT_BYTES_MAX}. Nicht gelesen",
                path.display()
            ),
            Self::Faulty { path, faults } => {
                let faults: Vec<String> = faults.iter().map(InGerman::in_german).collect();
                format!(
                    "{} ist kein guter Motorplan:\n{}",
                    path.display(),
                    faults.join("\n")
                )
            }
        }
    }
}

impl InGerman for LayoutFault {
    fn in_german(&self) -> String {
        let (file, field) = (&self.file, DE.layout_field(&self.field));
        let rule = DE.layout_rule(&self.rule);
        match self.value.as_str() {
            "" => format!("{file}: {field}: {rule}"),
            value => format!("{file}: {field}: {value}: {rule}"),
        }
    }
}

impl InGerman for OwnLayoutError {
    fn in_german(&self) -> String {
        match self {
            Self::BadName(name) => format!(
                "„{name}“ kann keine Datei eines Motorplans benennen: nicht zu lang, ohne / \\ : * ? \
                 \" < > | und ohne Punkt am Anfang"
            ),
            Self::Shipped(name) => {
                format!(
                    "„{name}“ heißt ein Motorplan, der mitgeliefert ist; einen anderen Namen nehmen"
                )
            }
            Self::NoFreeName(name) => {
                format!("jeder Name wie „{name}“ ist im Ordner der Motorpläne vergeben")
            }
            Self::Faulty { name, count, first } => {
                format!(
                    "{name} hat {count} Fehler, der erste: {}",
                    first.in_german()
                )
            }
            Self::Unread(error) => error.in_german(),
            Self::Exists(path) => format!(
                "{} ist schon da; nichts wurde überschrieben. Eine andere Datei nennen",
                path.display()
            ),
            Self::NoPath => "keine Datei ist genannt".to_owned(),
            Self::Disk(error) => error.in_german(),
        }
    }
}

impl InGerman for BenchError {
    fn in_german(&self) -> String {
        let what = quantity(self.quantity());
        match self {
            Self::OutOfRange {
                value,
                unit,
                from,
                to,
                ..
            } => {
                let (value, from, to) = (figure(*value), figure(*from), figure(*to));
                let line = format!("{what} = {value} {unit}: erlaubt ist {from} bis {to} {unit}");
                line.replace("  ", " ")
                    .replace(" :", ":")
                    .trim_end()
                    .to_owned()
            }
            Self::Unreadable { text, example, .. } => {
                format!("{what} „{text}“ ist nicht zu lesen: etwa {example}")
            }
            Self::TooFew { given, needed, .. } => {
                format!("{what}: {given} angegeben, mindestens {needed} nötig")
            }
        }
    }
}

/// A figure as short as it can be, with the comma.
fn figure(value: f64) -> String {
    format!("{value}").replace('.', ",")
}

/// A quantity of the bench; one that has no name here keeps its own.
fn quantity(english: &'static str) -> &'static str {
    match english {
        "bore" => "Bohrung",
        "stroke" => "Hub",
        "rod length" => "Pleuellänge",
        "number of cylinders" => "Zahl der Zylinder",
        "angle off TDC" => "Winkel neben OT",
        "crank angle" => "Kurbelwinkel",
        "pressure" => "Druck",
        "pressure rating" => "zulässiger Druck",
        "breakaway torque" => "Losbrechmoment",
        "seat diameter" => "Sitzdurchmesser",
        "fitting push" => "Kraft beim Einsetzen",
        "rim diameter" => "Durchmesser des Kranzes",
        "supply pressure" => "Druck am Eingang",
        "cylinder pressure" => "Druck im Zylinder",
        "orifice diameter" => "Durchmesser der Blende",
        "seated spring load" => "Federkraft, Ventil zu",
        "spring rate" => "Federrate",
        "spring height" => "Federhöhe",
        "spring travel" => "Federweg",
        "rock at the stem tip" => "Kippspiel am Schaftende",
        "guide length" => "Länge der Führung",
        "tip above the guide" => "Schaftende über der Führung",
        "odometer" => "Kilometerstand",
        "oil topped up" => "nachgefülltes Öl",
        "oil added since the work" => "Öl seit der Arbeit",
        "distance since the work" => "Strecke seit der Arbeit",
        "distance between first and last top-up" => {
            "Strecke zwischen erstem und letztem Nachfüllen"
        }
        "arc between both readings" => "Bogen zwischen beiden Ablesungen",
        "arc between both marks" => "Bogen zwischen beiden Marken",
        "active turns" => "federnde Windungen",
        "outer coil diameter" => "Außendurchmesser der Feder",
        "wire diameter" => "Drahtdurchmesser",
        "solid spring height" => "Blocklänge der Feder",
        "shear modulus" => "Schubmodul",
        "oil top-ups" => "Mengen nachgefüllten Öls",
        other => other,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use trayzero_core::bench::limits;

    #[test]
    fn a_figure_out_of_its_range_is_told_in_german_with_its_range() {
        let Err(error) = limits::BORE.check(0.5) else {
            panic!("a bore of half a millimetre is none")
        };
        assert_eq!(
            error.in_german(),
            "Bohrung = 0,5 mm: erlaubt ist 1 bis 2000 mm"
        );
        let Err(error) = limits::CYLINDERS.check(65.0) else {
            panic!("65 cylinders are too many")
        };
        assert_eq!(
            error.in_german(),
            "Zahl der Zylinder = 65: erlaubt ist 1 bis 64"
        );
    }
}
