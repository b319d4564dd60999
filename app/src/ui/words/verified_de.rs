//! What is said of a record that is checked, in German.
// Long because it is a table: every line that a check can say.

use trayzero_core::journal::Complaint;
use trayzero_core::shop_log::EndUnsigned;

use super::DE;
use super::verified::{CalledTablet, FigureTold, VerifySaid, WhyNoList};
use crate::data::store::InGerman;
use crate::record::pdf_file::{FILE_BYTES_MAX, NotRead, OtherWay};

fn called(who: &CalledTablet) -> String {
    match &who.name {
        Some(name) => format!("{name} ({})", who.tablet),
        None => format!("Tablet {}", who.tablet),
    }
}

fn figure(figure: &FigureTold) -> String {
    match figure {
        FigureTold::Missing => "nichts".to_owned(),
        FigureTold::List(count) => format!("eine Liste von {count}"),
        FigureTold::There => "etwas".to_owned(),
        FigureTold::Text(text) => text.clone(),
    }
}

/// Why a file cannot be taken apart.
pub fn not_read(why: &NotRead) -> String {
    match why {
        NotRead::NoPdf => "es ist kein PDF".to_owned(),
        NotRead::TooLarge { bytes } => {
            format!("die Datei hat {bytes} Byte; gelesen werden höchstens {FILE_BYTES_MAX}")
        }
        NotRead::OtherWay(way) => match way {
            OtherWay::Locked => "die Datei ist mit einem Passwort verschlossen",
            OtherWay::AddedTo => {
                "es wurde etwas angehängt, nachdem die Datei geschrieben war; um die Datei bitten, \
                 wie sie war"
            }
            OtherWay::PackedObjects => {
                "ein anderes Programm hat die Objekte gepackt; um die Datei bitten, wie sie \
                 geschrieben wurde, oder auspacken: qpdf --object-streams=disable"
            }
            OtherWay::PackedStream => "das ist auf eine Art gepackt, die nicht gelesen wird",
            OtherWay::Page => {
                "auf dieser Seite ist etwas, das nur andere Programme schreiben; sie wird hier \
                 nicht gezeichnet"
            }
        }
        .to_owned(),
        NotRead::Broken(why) => format!("die Datei hält nicht zusammen: {why}"),
    }
}

/// One line.
#[expect(clippy::too_many_lines, reason = "a table of sentences")]
pub fn said(said: &VerifySaid) -> String {
    use VerifySaid as S;
    match said {
        S::NothingAttached => {
            "an dieser Datei hängt nichts: eine frühere Version hat sie gemacht, oder sie wurde neu \
             gedruckt; ob sie stimmt, wissen nur die Tablets mit den Journalen des Auftrags".to_owned()
        }
        S::AddedUnlisted => "hinzugefügt: nur manche Programme zeigen es".to_owned(),
        S::ThereTwice => "zweimal da, und Programme nehmen verschiedene davon".to_owned(),
        S::Missing => "fehlt".to_owned(),
        S::Changed => "geändert: der SHA-256 ist nicht der auf der Liste".to_owned(),
        S::Added => "hinzugefügt: steht nicht auf der Liste".to_owned(),
        S::ListEmpty => "die Liste ist leer".to_owned(),
        S::ListNotSigned => {
            "niemand hat die Liste unterschrieben: ob vorher etwas wegblieb oder jemand anders sie \
             erfunden hat, sagt die Datei nicht".to_owned()
        }
        S::NoPublicKey => "kein öffentlicher Schlüssel (Ed25519)".to_owned(),
        S::ListSigned => "die Liste ist mit dem Schlüssel in signer.pem unterschrieben".to_owned(),
        S::SignatureWrong => {
            "die Unterschrift ist nicht die des Schlüssels in signer.pem unter diese Liste".to_owned()
        }
        S::NoLog => {
            "kein Werkstatt-Log dabei: für die Schlüssel der Tablets stehen nur die Tablets selbst".to_owned()
        }
        S::TwoLogs => "zwei Werkstatt-Logs dabei; den Schlüssel der Werkstatt angeben".to_owned(),
        S::FoundingBroken => "die Zeile, die die Werkstatt gründet, hält nicht".to_owned(),
        S::LogTorn => "die letzte Zeile ist nicht ganz".to_owned(),
        S::NoSigner => "das Protokoll nennt kein Tablet, das unterschrieben hat".to_owned(),
        S::SealWithoutJournal => "das Journal zu diesem Siegel fehlt".to_owned(),
        S::NoJournal => "kein Journal dabei".to_owned(),
        S::PictureNotNamed => "kein Ereignis des Auftrags nennt dieses Bild".to_owned(),
        S::OtherPicture => {
            "es ist ein anderes Bild als das, das ein Ereignis des Auftrags nennt".to_owned()
        }
        S::NobodyVouches => "niemand steht für dieses Tablet ein".to_owned(),
        S::NoSeal => "das ist nicht als Siegel zu lesen".to_owned(),
        S::NothingSigned => "in diesen Journalen hat niemand etwas unterschrieben".to_owned(),
        S::EndsOfOtherJob => "gehört zu einem anderen Auftrag".to_owned(),
        S::EndsNotSigned => {
            "niemand hat beim Abschluss die Enden aller Journale unterschrieben: dass kein Journal \
             fehlt, sagt nur das Tablet".to_owned()
        }
        S::EndsOfOtherTablet => "gehört zu einem anderen Tablet".to_owned(),
        S::EndsByNobody => "niemand hat es unterschrieben".to_owned(),
        S::MissingSinceClosing => "fehlt: beim Abschluss des Auftrags war es da".to_owned(),
        S::ChangedSinceClosing => "nicht mehr so wie beim Abschluss des Auftrags".to_owned(),
        S::NeverOpened => {
            "keine Zeile der Journale eröffnet den Auftrag; die Zahlen sind mit nichts zu vergleichen".to_owned()
        }
        S::NotPrintedAgain => {
            "das Protokoll wird nicht noch einmal gedruckt: woraus es wäre, hält nicht".to_owned()
        }
        S::PrintUnknown => {
            "in welcher Sprache, auf welchem Papier und in welchen Einheiten gedruckt wurde, ist \
             nicht bekannt".to_owned()
        }
        S::SameBytes => {
            "die ganze Datei mit jeder gedruckten Zahl ist Byte für Byte, was dieses Programm aus \
             den Journalen macht".to_owned()
        }
        S::SameFigures => {
            "jede gedruckte Zahl ist, was dieses Programm aus den Journalen macht; ein anderes \
             Programm hat die Datei neu gespeichert".to_owned()
        }
        S::NotTakenOut(why) => format!("nicht herauszunehmen: {}", not_read(why)),
        S::ListFault(fault) => {
            let why = match fault.why {
                WhyNoList::TooLong => "die Liste ist länger als alle, die gelesen werden",
                WhyNoList::OtherForm => "das sind nicht ein SHA-256-Wert, zwei Leerzeichen und ein Name",
                WhyNoList::Again => "sie nennt einen Anhang ein zweites Mal",
            };
            format!("die Liste, Zeile {}: {why}", fault.line)
        }
        S::AllOnList(good) => format!("alle {good} Anhänge der Liste sind da und unverändert"),
        S::MakingUnread(fault) => {
            format!("das sagt nicht, wie das Protokoll gemacht wurde: {fault}")
        }
        S::MakingFormat { format, known } => format!(
            "das hat Format {format}; dieses Programm kennt {known}: mit einem neueren prüfen"
        ),
        S::OtherShop { there, wanted } => match &there[..] {
            [] => format!("kein Werkstatt-Log dabei, erwartet war eines mit {wanted}"),
            keys => format!(
                "das Werkstatt-Log beginnt mit {}, nicht mit {wanted}",
                keys.join(" und ")
            ),
        },
        S::SaysOtherShop(said) => {
            let said = said.as_deref().unwrap_or("keiner");
            format!("das Protokoll nennt eine andere Werkstatt: {said}")
        }
        S::ShopAsWanted { key, words } => {
            format!("es ist die Werkstatt mit dem Schlüssel {key} ({words})")
        }
        S::ShopToCompare { key, words } => format!(
            "der Schlüssel der Werkstatt ist {key}, kurz {words}: mit dem vergleichen, den die \
             Werkstatt nennt"
        ),
        S::LogTooLarge { bytes, most } => {
            format!("das Werkstatt-Log hat {bytes} Byte; gelesen werden höchstens {most}")
        }
        S::LogLine { line, why } => format!("Zeile {line}: {}", why.in_german()),
        S::LogRefused { line, why } => {
            format!("Zeile {line}: sie zählt nichts: {}", why.in_german())
        }
        S::LogWaits { line, missing } => {
            format!("Zeile {line}: sie kannte Zeilen von Tablet {missing}, die nicht da sind")
        }
        S::LogHolds {
            lines,
            tablets,
            people,
        } => format!(
            "das Werkstatt-Log hält von der ersten Zeile an; Zeilen: {lines}, Tablets: {tablets}, \
             Personen: {people}"
        ),
        S::SignerIsMember { who, words } => format!(
            "es ist der Schlüssel von {}, einem Mitglied der Werkstatt ({words})",
            called(who)
        ),
        S::SignerNotKnown { who, words } => format!(
            "unter diesem Schlüssel kennt die Werkstatt {} nicht ({words})",
            called(who)
        ),
        S::SignerWithoutLog { who, words } => format!(
            "ob {} zur Werkstatt gehört, ist ohne ihr Log nicht bekannt ({words})",
            called(who)
        ),
        S::SignerToCompare { who, words } => format!(
            "es ist der Schlüssel, den {} nennt, kurz {words}: mit dem vergleichen, den sein \
             Besitzer nennt",
            called(who)
        ),
        S::SignerOtherKey { who, words } => format!(
            "es ist nicht der Schlüssel, mit dem {} sein Journal versiegelt hat ({words})",
            called(who)
        ),
        S::JournalsTooLarge { bytes, most } => {
            format!("die Journale haben {bytes} Byte; gelesen werden höchstens {most}")
        }
        S::PicturesNamed(count) => {
            format!("jedes Bild, das dabei ist, nennt ein Ereignis des Auftrags: {count}")
        }
        S::SealWrong {
            line: Some(line),
            why,
        } => format!("Zeile {line}: {}", why.in_german()),
        S::SealWrong { line: None, why } => why.in_german(),
        S::NotSealed(lines) => {
            format!("die letzten {lines} Zeilen sind mit keinem gültigen Schlüssel versiegelt")
        }
        S::JournalHolds(lines) => {
            format!("{lines} Zeilen folgen auseinander, bis zur letzten vom Tablet versiegelt")
        }
        S::LineFault { line, field, why } => {
            let (line, field, why) = (Some(*line), field.clone(), why.clone());
            Complaint { line, field, why }.in_german()
        }
        S::LineTorn(line) => format!("Zeile {line}: sie ist nicht ganz"),
        S::NewerLines(lines) => {
            format!("{lines} Zeilen haben ein neueres Format; mit einem neueren Programm prüfen")
        }
        S::SealedMissing(bytes) => {
            format!("{bytes} Byte fehlen, die das Tablet versiegelt hat")
        }
        S::SignaturesUnknown(count) => format!(
            "{count} Unterschriften von Personen: ohne Werkstatt-Log gilt nur das Wort des \
             Tablets, denn eigene Schlüssel sind nicht bekannt"
        ),
        S::SignaturesHold(count) => {
            format!("Unterschriften von Personen, jede mit eigenem Schlüssel: {count}")
        }
        S::EndsUnread(why) => format!("nicht als unterschriebene Enden zu lesen: {why}"),
        S::PersonNotSigned { person, why } => {
            let why = match why {
                None => "ohne Werkstatt-Log ist kein Schlüssel dieser Person bekannt",
                Some(EndUnsigned::Missing) => "es ist keine Unterschrift da",
                Some(EndUnsigned::Unknown) => DE.sign_unknown,
                Some(EndUnsigned::OtherKey) => DE.sign_other_key,
                Some(EndUnsigned::Broken) => "die Unterschrift hält nicht",
            };
            format!("{person} hat nicht unterschrieben: {why}")
        }
        S::EndsHold {
            people,
            journals,
            later,
        } => format!(
            "{} hat beim Abschluss die Enden aller Journale unterschrieben; Journale: {journals}, \
             Zeilen seither: {later}",
            people.join(" und ")
        ),
        S::RecordTooLarge(most) => format!("mehr als {most} Byte; das wird nicht gelesen"),
        S::RecordUnread(fault) => format!("nicht als JSON zu lesen: {fault}"),
        S::FigureDiffers { at, told, made } => format!(
            "{at} ist {}; die Journale ergeben {}",
            figure(told),
            figure(made)
        ),
        S::FiguresHold(count) => {
            format!("alle {count} Zahlen und Texte sind das, was die Journale ergeben")
        }
        S::ValueHolds(value) => format!("der Prüfwert {value} ist der der Journale"),
        S::ValueDiffers { told, made } => match told {
            Some(told) => format!("der Prüfwert ist {told}, und der der Journale ist {made}"),
            None => format!("der Prüfwert fehlt; der der Journale ist {made}"),
        },
        S::PagesUnread(why) => format!("die Seiten: {}", not_read(why)),
        S::PagesHold(count) => {
            format!("alle {count} Seiten zeigen, was sie beim Machen der Liste zeigten")
        }
        S::PageChanged(page) => {
            format!("Seite {page} zeigt nicht, was sie beim Machen der Liste zeigte")
        }
        S::OtherVersion { theirs, ours } => format!(
            "Version {theirs} hat gedruckt, dies ist {ours}: gedruckte Zahlen und Prüfwert sind \
             nicht verglichen; beim Lesen gegen die hier halten"
        ),
        S::NotPrinted(why) => DE.pdf_unwritten(why),
        S::PageDiffers(page) => {
            format!("Seite {page} ist nicht, was dieses Programm aus den Journalen druckt")
        }
        S::NotSigned(one) => DE.not_signed(one),
    }
}
