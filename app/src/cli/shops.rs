//! Several shops on the command line: which they are, and all of them read at once.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::mpsc;
use std::thread;
use std::time::{Duration, Instant};

use serde_json::Value;

use super::reading::read_board;
use super::{CliError, shop_key};
use crate::data::store::small_file;
use crate::shop::{Board, OfShop, ShopToRead, visited};

/// The most shops that are looked at beside each other: each takes a thread.
const SHOPS_MAX: usize = 50;
/// The most characters of a name.
const NAME_CHARS_MAX: usize = 40;

/// One shop as a person has named it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NamedShop {
    name: String,
    place: PathBuf,
    shop_key: Option<String>,
}

/// A shop on the command line: `NAME=WHERE`, or `NAME=WHERE#KEY`.
///
/// # Errors
/// Why it is none, in words.
pub(super) fn named_shop(text: &str) -> Result<NamedShop, String> {
    let Some((name, place)) = text.split_once('=') else {
        return Err("a shop is NAME=WHERE".to_owned());
    };
    let (place, key) = match place.rsplit_once('#') {
        // Half a key must not pass for the end of a folder's name.
        Some((place, key)) => {
            let why = |why| {
                format!(
                    "{why}, not {key}; a folder with # in its name goes into a file, with --shops"
                )
            };
            (place, Some(shop_key(key).map_err(why)?))
        }
        None => (place, None),
    };
    Ok(NamedShop {
        name: checked_name(name)?,
        place: checked_place(place)?,
        shop_key: key,
    })
}

fn checked_name(name: &str) -> Result<String, String> {
    let name = name.trim();
    let is_good = !name.is_empty()
        && name.chars().count() <= NAME_CHARS_MAX
        && !name.chars().any(char::is_control);
    let why = || format!("a name has 1 to {NAME_CHARS_MAX} characters on one line");
    is_good.then(|| name.to_owned()).ok_or_else(why)
}

fn checked_place(place: &str) -> Result<PathBuf, String> {
    match place {
        "" => Err("a place is a folder, or s3://bucket/prefix".to_owned()),
        _ => Ok(PathBuf::from(place)),
    }
}

/// The shops that a file names.
///
/// # Errors
/// [`CliError::Shops`], which names the file, the field and the value.
pub(super) fn shops_of_file(path: &Path) -> Result<Vec<NamedShop>, CliError> {
    let of = |field: &str, why: String| CliError::Shops {
        place: format!("{}: {field}", path.display()),
        why,
    };
    let read = small_file::read(path).map_err(|e| of("file", e.cause.to_string()))?;
    let bytes = read.ok_or_else(|| of("file", "it is not there".to_owned()))?;
    let whole: Value = serde_json::from_slice(&bytes).map_err(|e| of("file", e.to_string()))?;
    only(&whole, "file", &["shops"]).map_err(|(field, why)| of(&field, why))?;
    let Some(shops) = whole.get("shops").and_then(Value::as_array) else {
        return Err(of("shops", "a list of shops belongs here".to_owned()));
    };
    let shop = |(at, shop): (usize, &Value)| {
        let at = format!("shops[{at}]");
        shop_of(shop, &at).map_err(|(field, why)| of(&field, why))
    };
    shops.iter().enumerate().map(shop).collect()
}

/// A field with what is wrong about it.
type WrongField = (String, String);

fn shop_of(shop: &Value, at: &str) -> Result<NamedShop, WrongField> {
    only(shop, at, &["name", "where", "shop_key"])?;
    let wrong = |field: &str, value: &Value, why: String| {
        (format!("{at}.{field}"), format!("{value}: {why}"))
    };
    let text = |field: &str| match shop.get(field) {
        None => Ok(None),
        Some(Value::String(text)) => Ok(Some(text.as_str())),
        Some(other) => Err(wrong(field, other, "a text belongs here".to_owned())),
    };
    let needed = |field: &str, check: fn(&str) -> Result<String, String>| {
        let text =
            text(field)?.ok_or_else(|| (format!("{at}.{field}"), "it is missing".to_owned()))?;
        check(text).map_err(|why| wrong(field, &text.into(), why))
    };
    let key = text("shop_key")?
        .map(|key| shop_key(key).map_err(|why| wrong("shop_key", &key.into(), why)));
    Ok(NamedShop {
        name: needed("name", checked_name)?,
        place: needed("where", |text| checked_place(text).map(|_| text.to_owned()))?.into(),
        shop_key: key.transpose()?,
    })
}

/// Whether a value has these fields and no others.
fn only(value: &Value, at: &str, known: &[&str]) -> Result<(), WrongField> {
    let Some(fields) = value.as_object() else {
        return Err((at.to_owned(), format!("{value}: an object belongs here")));
    };
    match fields
        .iter()
        .find(|(field, _)| !known.contains(&field.as_str()))
    {
        None => Ok(()),
        Some((field, value)) => Err((
            format!("{at}.{field}"),
            format!(
                "{value}: there is no such field; known are {}",
                known.join(", ")
            ),
        )),
    }
}

/// The shops in the order in which they were named.
///
/// # Errors
/// [`CliError::Shops`] where there are none or too many, or two have one name or one place.
pub(super) fn in_turn(shops: Vec<NamedShop>) -> Result<Vec<ShopToRead>, CliError> {
    let wrong = |place: &str, why: &str| CliError::Shops {
        place: place.to_owned(),
        why: why.to_owned(),
    };
    if shops.is_empty() || shops.len() > SHOPS_MAX {
        let why = format!(
            "{} shops are named; 1 to {SHOPS_MAX} are looked at",
            shops.len()
        );
        return Err(wrong("shops", &why));
    }
    let (mut names, mut places) = (BTreeSet::new(), BTreeSet::new());
    for shop in &shops {
        if !names.insert(&shop.name) {
            return Err(wrong(&shop.name, "two shops have this name"));
        }
        if !places.insert(&shop.place) {
            let place = shop.place.display().to_string();
            return Err(wrong(&place, "two shops are said to be here"));
        }
    }
    let to_read = |(at, shop): (usize, NamedShop)| ShopToRead {
        of: Some(OfShop {
            at,
            name: Arc::from(shop.name),
        }),
        place: shop.place,
        shop_key: shop.shop_key,
    };
    Ok(shops.into_iter().enumerate().map(to_read).collect())
}

/// What reading a shop came to: its board and whose lines count there, or why not; `None` where
/// it has not answered.
pub(super) type ShopRead = Option<Result<(Board, String), CliError>>;

/// Reads all of them beside each other, and waits no longer than that for any.
pub(super) fn read_all(shops: &[ShopToRead], at_most: Duration) -> Vec<ShopRead> {
    let (sender, answers) = mpsc::channel();
    for (at, shop) in shops.iter().enumerate() {
        let (shop, sender) = (shop.clone(), sender.clone());
        // One that hangs ends with the program.
        thread::spawn(move || {
            let key = shop.shop_key.as_deref();
            let folder = visited(&shop.place, key).map_err(CliError::Place);
            let read = folder.and_then(|folder| read_board(&folder, key));
            // Whoever has stopped waiting needs no answer.
            let _ = sender.send((at, read));
        });
    }
    drop(sender);
    let until = Instant::now() + at_most;
    let mut all: Vec<ShopRead> = shops.iter().map(|_| None).collect();
    while let Ok((at, read)) = answers.recv_timeout(until.saturating_duration_since(Instant::now()))
    {
        all[at] = Some(read);
    }
    all
}
