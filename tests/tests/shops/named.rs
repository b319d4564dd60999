//! How shops are named: on the command line and in a file, and what is refused.

use std::fs;

use super::shop::{YardShop, bays};

fn run(args: &[&str]) -> (u8, String, String) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let code = trayzero::cli::run([&["trayzero", "board"], args].concat(), &mut out, &mut err);
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (code, text(out), text(err))
}

#[test]
fn a_shop_is_a_name_a_place_and_its_key_if_it_is_known() {
    let scratch = tempfile::tempdir().unwrap();
    let one = YardShop::of(scratch.path(), "a = b", &bays(&[1]));
    let two = YardShop::of(scratch.path(), "two", &bays(&[8]));
    let place = one.folder.display();
    let first = format!("One={place}#{}", one.key);
    let second = format!("Two={}", two.folder.display());
    let (code, out, err) = run(&["--shop", &first, "--shop", &second]);
    assert_eq!(code, 0, "{err}");
    assert!(
        out.contains("One · Bay 1, ") && out.contains("Two · Bay 8, "),
        "{out}"
    );
    assert!(
        err.contains(&format!(
            "One: whose lines count: the shop log, checked from its start against the key {}",
            one.key
        )),
        "{err}"
    );
    let other = format!("One={place}#{}", two.key);
    let (code, out, _) = run(&["--shop", &other, "--shop", &second]);
    assert_eq!(code, 1, "one was not read");
    assert!(
        !out.contains("Bay 1,") && out.contains("Two · Bay 8, "),
        "{out}"
    );
}

#[test]
fn one_folder_or_shops_or_a_file_of_them_and_nothing_twice() {
    let scratch = tempfile::tempdir().unwrap();
    let place = scratch.path().to_str().unwrap();
    let shop = format!("A={place}");
    for (args, why) in [
        (vec![], "required"),
        (vec![place, "--shop", &shop], "cannot be used with"),
        (
            vec!["--shop", &shop, "--shops", "x.json"],
            "cannot be used with",
        ),
        (
            vec!["--shop", &shop, "--shop-key", &"a".repeat(64)],
            "cannot be used with",
        ),
        (vec!["--shop", place], "a shop is NAME=WHERE"),
        (vec!["--shop", "=/x"], "a name has 1 to 40 characters"),
        (vec!["--shop", "A="], "a place is a folder"),
        (
            vec!["--shop", "A=/x#abc"],
            "a key has 64 hex digits, not abc",
        ),
        (
            vec!["--shop", &shop, "--shop", "A=/other"],
            "A: two shops have this name",
        ),
        (
            vec!["--shop", &shop, "--shop", &format!("B={place}")],
            "two shops are said to be here",
        ),
    ] {
        let (code, out, err) = run(&args);
        assert_eq!(code, 2, "{args:?}: {err}");
        assert!(err.contains(why), "{args:?}: {err}");
        assert_eq!(out, "");
    }
    let many: Vec<String> = (0..51).map(|n| format!("S{n}=/nowhere/{n}")).collect();
    let many: Vec<&str> = many.iter().flat_map(|shop| ["--shop", shop]).collect();
    let (code, _, err) = run(&many);
    assert_eq!(code, 2);
    assert!(
        err.contains("51 shops are named; 1 to 50 are looked at"),
        "{err}"
    );
}

#[test]
fn a_wrong_file_is_refused_with_its_field_and_its_value() {
    let scratch = tempfile::tempdir().unwrap();
    let file = scratch.path().join("region.json");
    for (text, why) in [
        ("{", "file: EOF while parsing"),
        ("[1]", "file: [1]: an object belongs here"),
        (
            r#"{"shops":[],"colour":"red"}"#,
            r#"file.colour: "red": there is no such field; known are shops"#,
        ),
        (r#"{"shops":5}"#, "shops: a list of shops belongs here"),
        (r#"{"shops":[]}"#, "0 shops are named"),
        (
            r#"{"shops":[{"name":"A","where":"/a"},7]}"#,
            "shops[1]: 7: an object belongs here",
        ),
        (
            r#"{"shops":[{"name":"A","where":"/a","key":"x"}]}"#,
            r#"shops[0].key: "x": there is no such field; known are name, where, shop_key"#,
        ),
        (
            r#"{"shops":[{"name":"A"}]}"#,
            "shops[0].where: it is missing",
        ),
        (
            r#"{"shops":[{"name":5,"where":"/a"}]}"#,
            "shops[0].name: 5: a text belongs here",
        ),
        (
            r#"{"shops":[{"name":" ","where":"/a"}]}"#,
            "shops[0].name: \" \": a name has 1 to 40 characters",
        ),
        (
            r#"{"shops":[{"name":"A","where":""}]}"#,
            "shops[0].where: \"\": a place is a folder",
        ),
        (
            r#"{"shops":[{"name":"A","where":"/a","shop_key":"12"}]}"#,
            r#"shops[0].shop_key: "12": a key has 64 hex digits"#,
        ),
        (
            r#"{"shops":[{"name":"A","where":"/a"},{"name":"A","where":"/b"}]}"#,
            "A: two shops have this name",
        ),
    ] {
        fs::write(&file, text).unwrap();
        let (code, out, err) = run(&["--shops", file.to_str().unwrap()]);
        assert_eq!((code, &*out), (2, ""), "{text}: {err}");
        assert!(err.contains(why), "{text}: {err}");
    }
    let (code, _, err) = run(&["--shops", "/nowhere/region.json"]);
    assert_eq!(code, 2);
    assert!(
        err.contains("/nowhere/region.json: file: it is not there"),
        "{err}"
    );
}

/// The README's own example is read as it stands there.
#[test]
fn the_example_of_the_readme_is_a_file_of_three_shops() {
    let readme = concat!(env!("CARGO_MANIFEST_DIR"), "/../README.md");
    let readme = fs::read_to_string(readme).unwrap();
    let example = readme.split_once("```json\n").unwrap().1;
    let example = example.split_once("```").unwrap().0;
    let scratch = tempfile::tempdir().unwrap();
    let file = scratch.path().join("region.json");
    fs::write(&file, example).unwrap();
    let file = file.to_str().unwrap();
    let (code, out, _) = run(&["--shops", file, "--wait-s", "2", "--json"]);
    assert_eq!(code, 1, "none of them is there");
    let said: serde_json::Value = serde_json::from_str(&out).unwrap();
    let shops = said["shops"].as_array().unwrap().iter();
    let shops: Vec<_> = shops
        .map(|s| (s["name"].as_str().unwrap(), s["reached"].as_bool().unwrap()))
        .collect();
    assert_eq!(
        shops,
        [("North", false), ("Harbour", false), ("Hill", false)]
    );
}
