//! What is said of a record that is checked, in English.
// Long because it is a table: every line that a check can say.

use super::EN;
use super::verified::{CalledTablet, FigureTold, VerifySaid};

fn called(who: &CalledTablet) -> String {
    match &who.name {
        Some(name) => format!("{name} ({})", who.tablet),
        None => format!("tablet {}", who.tablet),
    }
}

fn figure(figure: &FigureTold) -> String {
    match figure {
        FigureTold::Missing => "missing".to_owned(),
        FigureTold::List(count) => format!("a list of {count}"),
        FigureTold::There => "there".to_owned(),
        FigureTold::Text(text) => text.clone(),
    }
}

/// One line.
#[expect(clippy::too_many_lines, reason = "a table of sentences")]
pub fn said(said: &VerifySaid) -> String {
    use VerifySaid as S;
    match said {
        S::NothingAttached => {
            "nothing is attached to this file: a version before this one made it, or it was \
             printed anew; only the tablets that have the job's journals can tell whether it is \
             theirs"
                .to_owned()
        }
        S::AddedUnlisted => "it was added: some programs alone show it".to_owned(),
        S::ThereTwice => "it is there twice, and programs differ in which one they take".to_owned(),
        S::Missing => "it is missing".to_owned(),
        S::Changed => "it was changed: its SHA-256 is not the one on the list".to_owned(),
        S::Added => "it was added: it is not on the list".to_owned(),
        S::ListEmpty => "the list is empty".to_owned(),
        S::ListNotSigned => {
            "nobody has signed the list: whether something was left out before, or made up by \
             somebody else, the file does not say"
                .to_owned()
        }
        S::NoPublicKey => "it is no public key (Ed25519)".to_owned(),
        S::ListSigned => "the list is signed with the key in signer.pem".to_owned(),
        S::SignatureWrong => {
            "the signature is not over this list with the key in signer.pem".to_owned()
        }
        S::NoLog => {
            "no shop log goes along: nobody but the tablets themselves vouches for their keys"
                .to_owned()
        }
        S::TwoLogs => "there are two shop logs in it; name the shop's key".to_owned(),
        S::FoundingBroken => "the line that founds the shop does not hold".to_owned(),
        S::LogTorn => "its last line is not whole".to_owned(),
        S::NoSigner => "the record names no tablet that signed it".to_owned(),
        S::SealWithoutJournal => "the journal that it seals is missing".to_owned(),
        S::NoJournal => "no journal goes along".to_owned(),
        S::PictureNotNamed => "no event of the job names this picture".to_owned(),
        S::OtherPicture => {
            "it is another picture than the one that an event of the job names".to_owned()
        }
        S::NobodyVouches => "nobody vouches for this tablet".to_owned(),
        S::NoSeal => "it does not read as a seal".to_owned(),
        S::NothingSigned => "nobody has signed anything in these journals".to_owned(),
        S::EndsOfOtherJob => "it is of another job".to_owned(),
        S::EndsNotSigned => {
            "nobody has signed over the ends of all journals when the job was closed: that no \
             journal is missing is the tablet's word"
                .to_owned()
        }
        S::EndsOfOtherTablet => "it is of another tablet".to_owned(),
        S::EndsByNobody => "nobody has signed it".to_owned(),
        S::MissingSinceClosing => "it is missing: it was there when the job was closed".to_owned(),
        S::ChangedSinceClosing => "it is not as it was when the job was closed".to_owned(),
        S::NeverOpened => {
            "no line of the journals opens the job, so there is nothing to hold the figures \
             against"
                .to_owned()
        }
        S::NotPrintedAgain => {
            "the record is not printed again: what it would be made of does not hold".to_owned()
        }
        S::PrintUnknown => {
            "in which language, on which paper and in which units it was printed is not known"
                .to_owned()
        }
        S::SameBytes => {
            "the whole file, every printed figure with it, is byte for byte what this program \
             makes of the journals"
                .to_owned()
        }
        S::SameFigures => {
            "every printed figure is what this program makes of the journals; the file was saved \
             anew by another program"
                .to_owned()
        }
        S::NotTakenOut(why) => format!("it cannot be taken out: {why}"),
        S::ListFault(fault) => format!("the list, {fault}"),
        S::AllOnList(good) => {
            format!("all {good} attachments on the list are there and unchanged")
        }
        S::MakingUnread(fault) => format!("it does not say how the record was made: {fault}"),
        S::MakingFormat { format, known } => {
            format!("it has format {format}; this program knows {known}: check it with a newer one")
        }
        S::OtherShop { there, wanted } => match &there[..] {
            [] => format!("no shop log goes along, and not with {wanted}"),
            keys => format!(
                "the shop log that goes along begins with {}, and not with {wanted}",
                keys.join(" and ")
            ),
        },
        S::SaysOtherShop(said) => {
            let said = said.as_deref().unwrap_or("none");
            format!("the record says that it is of another shop: {said}")
        }
        S::ShopAsWanted { key, words } => format!("it is the shop with the key {key} ({words})"),
        S::ShopToCompare { key, words } => format!(
            "the shop's key is {key}, in short {words}: hold it against the one that the shop \
             gives you"
        ),
        S::LogTooLarge { bytes, most } => {
            format!("the shop log has {bytes} bytes; at most {most} are read")
        }
        S::LogLine { line, why } => format!("line {line}: {why}"),
        S::LogRefused { line, why } => format!("line {line}: it counts for nothing: {why}"),
        S::LogWaits { line, missing } => {
            format!("line {line}: it knew of lines of tablet {missing} that are not there")
        }
        S::LogHolds {
            lines,
            tablets,
            people,
        } => format!(
            "the shop log holds from its first line on; lines: {lines}, tablets: {tablets}, \
             people: {people}"
        ),
        S::SignerIsMember { who, words } => {
            format!(
                "it is the key of {}, a member of the shop ({words})",
                called(who)
            )
        }
        S::SignerNotKnown { who, words } => {
            format!(
                "it is no key by which the shop knows {} ({words})",
                called(who)
            )
        }
        S::SignerWithoutLog { who, words } => format!(
            "whether {} belongs to the shop is not known without its log ({words})",
            called(who)
        ),
        S::SignerToCompare { who, words } => format!(
            "it is the key that {} says it has, in short {words}: hold it against the one that \
             its owner gives you",
            called(who)
        ),
        S::SignerOtherKey { who, words } => format!(
            "it is not the key that {} has sealed its journal with ({words})",
            called(who)
        ),
        S::JournalsTooLarge { bytes, most } => {
            format!("the journals have {bytes} bytes; at most {most} are read")
        }
        S::PicturesNamed(count) => {
            format!("each picture that goes along is one that an event names: {count}")
        }
        S::SealWrong {
            line: Some(line),
            why,
        } => format!("line {line}: {why}"),
        S::SealWrong { line: None, why } => why.to_string(),
        S::NotSealed(lines) => {
            format!("its last {lines} lines are not sealed by a key that counts")
        }
        S::JournalHolds(lines) => {
            format!("{lines} lines follow from one another, sealed to the last one by their tablet")
        }
        S::LineFault { line, field, why } if field.is_empty() => format!("line {line}: {why}"),
        S::LineFault { line, field, why } => format!("line {line}, field \"{field}\": {why}"),
        S::LineTorn(line) => format!("line {line}: it is not whole"),
        S::NewerLines(lines) => {
            format!("{lines} lines are of a newer format; check it with a newer program")
        }
        S::SealedMissing(bytes) => format!("{bytes} bytes that its tablet has sealed are missing"),
        S::SignaturesUnknown(count) => format!(
            "{count} signatures of people: without a shop log they are the tablet's word, for no \
             key of their own is known"
        ),
        S::SignaturesHold(count) => {
            format!("signatures of people, each with a key of their own: {count}")
        }
        S::EndsUnread(why) => format!("it does not read as signed ends: {why}"),
        S::PersonNotSigned { person, why } => {
            let why = why.map(|why| why.to_string());
            let why = why.unwrap_or("without a shop log no key of theirs is known".to_owned());
            format!("{person} has not signed it: {why}")
        }
        S::EndsHold {
            people,
            journals,
            later,
        } => format!(
            "signed by {} over the ends of all journals when the job was closed; journals: \
             {journals}, lines since: {later}",
            people.join(" and ")
        ),
        S::RecordTooLarge(most) => format!("it has more than {most} bytes, and is not read"),
        S::RecordUnread(fault) => format!("it does not read as JSON: {fault}"),
        S::FigureDiffers { at, told, made } => {
            format!(
                "{at} is {}; the journals come to {}",
                figure(told),
                figure(made)
            )
        }
        S::FiguresHold(count) => {
            format!("all {count} figures and texts are what the journals come to")
        }
        S::ValueHolds(value) => format!("the check value {value} is that of the journals"),
        S::ValueDiffers { told, made } => format!(
            "the check value is {}, and that of the journals is {made}",
            told.as_deref().unwrap_or("missing")
        ),
        S::PagesUnread(why) => format!("the pages: {why}"),
        S::PagesHold(count) => {
            format!("all {count} pages show what they showed when the list was made")
        }
        S::PageChanged(page) => {
            format!("page {page} does not show what it showed when the list was made")
        }
        S::OtherVersion { theirs, ours } => format!(
            "version {theirs} printed it, this is {ours}: the printed figures and value are not \
             compared, read them against those above"
        ),
        S::NotPrinted(why) => EN.pdf_unwritten(why),
        S::PageDiffers(page) => {
            format!("page {page} is not what this program prints from the journals")
        }
        S::NotSigned(one) => EN.not_signed(one),
    }
}
