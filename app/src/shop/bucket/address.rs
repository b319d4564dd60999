//! Where a bucket is and who asks: `s3://bucket/prefix` from the person, the endpoint, the
//! region and the keys from where programs of this system usually find them.
//!
//! The environment goes first: `AWS_ENDPOINT_URL_S3` or `AWS_ENDPOINT_URL`, `AWS_REGION` or
//! `AWS_DEFAULT_REGION`, `AWS_ACCESS_KEY_ID`, `AWS_SECRET_ACCESS_KEY`, `AWS_SESSION_TOKEN`.
//! Then the profile that `AWS_PROFILE` names (`default` without it) in the files `config` and
//! `credentials` of the folder `.aws`. Nothing of it is ever written or shown.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::{env, fmt};

use configparser::ini::Ini;
use directories::BaseDirs;
use rusty_s3::{Bucket, Credentials, UrlStyle};

use super::fault::BucketFault;

const SCHEME: &str = "s3://";
/// What servers take for a region where nobody names one.
const USUAL_REGION: &str = "us-east-1";
/// The longest prefix, in bytes: keys have 1,024 at most.
const PREFIX_MAX: usize = 400;

/// A bucket and the prefix of everything that is the shop's in it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BucketAddress {
    bucket: String,
    /// Without a slash at its ends; may be empty.
    prefix: String,
}

impl BucketAddress {
    /// What a person wrote where a folder may stand; `None` if it means a folder.
    ///
    /// # Errors
    /// [`BucketFault::BadAddress`] for a bucket or a prefix that cannot be one.
    pub fn of(place: &Path) -> Option<Result<Self, BucketFault>> {
        let rest = place.to_str()?.strip_prefix(SCHEME)?;
        let (bucket, prefix) = rest.split_once('/').unwrap_or((rest, ""));
        let prefix = prefix.trim_end_matches('/');
        let is_good = is_bucket(bucket) && is_prefix(prefix);
        Some(if is_good {
            Ok(Self {
                bucket: bucket.to_owned(),
                prefix: prefix.to_owned(),
            })
        } else {
            Err(BucketFault::BadAddress)
        })
    }

    /// The key of an object, from its name below the prefix.
    pub(super) fn key(&self, name: &str) -> String {
        match self.prefix.as_str() {
            "" => name.to_owned(),
            prefix => format!("{prefix}/{name}"),
        }
    }

    /// The name below the prefix of an object with this key.
    pub(super) fn name<'a>(&self, key: &'a str) -> Option<&'a str> {
        match self.prefix.as_str() {
            "" => Some(key),
            prefix => key.strip_prefix(prefix)?.strip_prefix('/'),
        }
    }
}

impl fmt::Display for BucketAddress {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{SCHEME}{}", self.bucket)?;
        if self.prefix.is_empty() {
            return Ok(());
        }
        write!(f, "/{}", self.prefix)
    }
}

/// The characters and the length that a bucket's name may have everywhere.
fn is_bucket(name: &str) -> bool {
    let is_of_it = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || ".-".contains(c);
    (3..=63).contains(&name.len()) && name.chars().all(is_of_it) && !name.starts_with('.')
}

/// Parts without a dot alone, for an address would be led elsewhere by them.
fn is_prefix(prefix: &str) -> bool {
    let is_part = |part: &str| {
        let is_of_it = |c: char| c.is_ascii_alphanumeric() || "._-".contains(c);
        !matches!(part, "" | "." | "..") && part.chars().all(is_of_it)
    };
    prefix.is_empty() || (prefix.len() <= PREFIX_MAX && prefix.split('/').all(is_part))
}

/// How a bucket is asked.
pub(super) struct Access {
    pub bucket: Bucket,
    pub keys: Credentials,
}

/// Where this system says how buckets are asked: its environment, and where that leads.
#[derive(Clone, Default)]
pub struct Surroundings {
    variables: BTreeMap<String, String>,
    home: Option<PathBuf>,
}

impl fmt::Debug for Surroundings {
    /// Without what stands in them.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Surroundings")
    }
}

impl Surroundings {
    /// Those of this program.
    pub fn of_system() -> Self {
        let variables = env::vars_os().filter_map(|(name, value)| {
            let name = name.into_string().ok()?;
            let value = value.into_string().ok()?;
            (name.starts_with("AWS_") && !value.is_empty()).then_some((name, value))
        });
        Self {
            variables: variables.collect(),
            home: BaseDirs::new().map(|dirs| dirs.home_dir().to_owned()),
        }
    }

    /// Variables by name, and the folder of the person.
    pub fn new(variables: BTreeMap<String, String>, home: Option<PathBuf>) -> Self {
        Self { variables, home }
    }

    /// Endpoint, region and keys for a bucket.
    ///
    /// # Errors
    /// What is missing.
    pub(super) fn access(&self, address: &BucketAddress) -> Result<Access, BucketFault> {
        let profile = self.profile();
        let endpoint = self
            .first(&["AWS_ENDPOINT_URL_S3", "AWS_ENDPOINT_URL"])
            .or_else(|| profile.get("endpoint_url"))
            .ok_or(BucketFault::NoEndpoint)?;
        let region = self
            .first(&["AWS_REGION", "AWS_DEFAULT_REGION"])
            .or_else(|| profile.get("region"))
            .unwrap_or_else(|| USUAL_REGION.to_owned());
        let endpoint = endpoint.parse().map_err(|_| BucketFault::NoEndpoint)?;
        let bucket = Bucket::new(endpoint, UrlStyle::Path, address.bucket.clone(), region)
            .map_err(|_| BucketFault::NoEndpoint)?;
        let named = |name: &str| self.variables.get(name).cloned();
        let keys = credentials(
            named("AWS_ACCESS_KEY_ID"),
            named("AWS_SECRET_ACCESS_KEY"),
            named("AWS_SESSION_TOKEN"),
        );
        let keys = keys.or_else(|| {
            credentials(
                profile.get("aws_access_key_id"),
                profile.get("aws_secret_access_key"),
                profile.get("aws_session_token"),
            )
        });
        Ok(Access {
            bucket,
            keys: keys.ok_or(BucketFault::NoKeys)?,
        })
    }

    fn first(&self, names: &[&str]) -> Option<String> {
        names
            .iter()
            .find_map(|name| self.variables.get(*name))
            .cloned()
    }

    fn profile(&self) -> Profile {
        let name = self
            .first(&["AWS_PROFILE"])
            .unwrap_or_else(|| "default".to_owned());
        let path = |variable: &str, file: &str| {
            let named = self.first(&[variable]).map(PathBuf::from);
            named.or_else(|| Some(self.home.as_ref()?.join(".aws").join(file)))
        };
        let in_config = match name.as_str() {
            "default" => name.clone(),
            other => format!("profile {other}"),
        };
        let files = [
            (path("AWS_SHARED_CREDENTIALS_FILE", "credentials"), name),
            (path("AWS_CONFIG_FILE", "config"), in_config),
        ];
        let read = files.into_iter().filter_map(|(path, part)| {
            let mut file = Ini::new_cs();
            // A file that is not there, or is none, names nothing.
            file.load(path?).ok()?;
            Some((file, part))
        });
        Profile(read.collect())
    }
}

fn credentials(
    key: Option<String>,
    secret: Option<String>,
    token: Option<String>,
) -> Option<Credentials> {
    let (key, secret) = (key?, secret?);
    Some(match token {
        Some(token) => Credentials::new_with_token(key, secret, token),
        None => Credentials::new(key, secret),
    })
}

/// The files of a profile, each with the name of the profile's part of it.
struct Profile(Vec<(Ini, String)>);

impl Profile {
    fn get(&self, field: &str) -> Option<String> {
        let mut values = self
            .0
            .iter()
            .filter_map(|(file, part)| file.get(part, field));
        values.find(|value| !value.is_empty())
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn an_address_names_a_bucket_and_a_prefix_that_lead_nowhere_else() {
        let of = |text: &str| BucketAddress::of(Path::new(text));
        assert_eq!(of("/srv/bays"), None);
        assert_eq!(of("s3:/bays"), None);
        let address = of("s3://seal-bays/north/hall-2/").unwrap().unwrap();
        assert_eq!(address.to_string(), "s3://seal-bays/north/hall-2");
        assert_eq!(address.key("now/shop.json"), "north/hall-2/now/shop.json");
        assert_eq!(address.name("north/hall-2/now/x"), Some("now/x"));
        assert_eq!(address.name("north/hall-20/now/x"), None);
        assert_eq!(of("s3://bays").unwrap().unwrap().key("a"), "a");
        for bad in [
            "s3://",
            "s3://a",
            "s3://Bays",
            "s3://bays/../x",
            "s3://bays//x",
            "s3://bays/a b",
        ] {
            assert_eq!(of(bad), Some(Err(BucketFault::BadAddress)), "{bad}");
        }
    }

    #[test]
    fn the_environment_goes_before_the_profile_and_what_is_missing_is_named() {
        let home = tempfile::tempdir().unwrap();
        let folder = home.path().join(".aws");
        std::fs::create_dir(&folder).unwrap();
        let files = [
            (
                "config",
                "[default]\nregion = west\n[profile depot]\nendpoint_url = http://127.0.0.1:3900\n\
                 region = north\n",
            ),
            (
                "credentials",
                "[depot]\naws_access_key_id = AKey\naws_secret_access_key = Secret/+1\n",
            ),
        ];
        for (name, text) in files {
            std::fs::write(folder.join(name), text).unwrap();
        }
        let address = BucketAddress::of(Path::new("s3://bays/a"))
            .unwrap()
            .unwrap();
        let access = |variables: &[(&str, &str)]| {
            let variables = variables
                .iter()
                .map(|(n, v)| ((*n).to_owned(), (*v).to_owned()));
            let home = Some(home.path().to_owned());
            Surroundings::new(variables.collect(), home).access(&address)
        };
        let depot = access(&[("AWS_PROFILE", "depot")]).ok().unwrap();
        assert_eq!(depot.bucket.region(), "north");
        assert_eq!(
            depot.bucket.base_url().as_str(),
            "http://127.0.0.1:3900/bays/"
        );
        assert_eq!(
            (depot.keys.key(), depot.keys.secret()),
            ("AKey", "Secret/+1")
        );
        let first = [
            ("AWS_PROFILE", "depot"),
            ("AWS_REGION", "east"),
            ("AWS_ACCESS_KEY_ID", "Other"),
            ("AWS_SECRET_ACCESS_KEY", "Two"),
        ];
        let other = access(&first).ok().unwrap();
        assert_eq!((other.bucket.region(), other.keys.key()), ("east", "Other"));
        assert_eq!(access(&[]).err(), Some(BucketFault::NoEndpoint));
        let named = [("AWS_ENDPOINT_URL", "http://127.0.0.1:1")];
        assert_eq!(access(&named).err(), Some(BucketFault::NoKeys));
    }
}
