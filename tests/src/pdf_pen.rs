//! A pen for PDFs: puts other files into one, as text, and shares nothing with the program
//! that takes them out (ISO 32000-1, 7.5 and 7.11; from memory).

use std::fmt::Write;

/// The smallest PDF: one blank page, nothing attached.
pub const BLANK: &str = "%PDF-1.7\n1 0 obj\n<</Type/Catalog/Pages 2 0 R>>\nendobj\n\
2 0 obj\n<</Type/Pages/Kids[3 0 R]/Count 1>>\nendobj\n\
3 0 obj\n<</Type/Page/Parent 2 0 R/MediaBox[0 0 9 9]>>\nendobj\n\
xref\n0 4\n0000000000 65535 f\r\n0000000009 00000 n\r\n0000000054 00000 n\r\n0000000105 00000 n\r\n\
trailer\n<</Size 4/Root 1 0 R>>\nstartxref\n166\n%%EOF\n";

fn find(text: &[u8], word: &[u8], from: usize) -> Option<usize> {
    let at = text
        .get(from..)?
        .windows(word.len())
        .position(|w| w == word)?;
    Some(from + at)
}

fn number_at(text: &[u8], at: usize) -> usize {
    let digits = text[at..].iter().skip_while(|b| b.is_ascii_whitespace());
    let digits: Vec<u8> = digits.take_while(|b| b.is_ascii_digit()).copied().collect();
    String::from_utf8_lossy(&digits).parse().unwrap_or(0)
}

/// A dictionary's text without one of its entries, which is a dictionary or a list.
fn without(text: &[u8], name: &[u8], open: &[u8], close: &[u8]) -> Vec<u8> {
    let Some(from) = find(text, name, 0) else {
        return text.to_vec();
    };
    let (mut at, mut depth) = (from + name.len(), 0_usize);
    loop {
        if text[at..].starts_with(open) {
            depth += 1;
            at += open.len();
        } else if text[at..].starts_with(close) {
            depth -= 1;
            at += close.len();
            if depth == 0 {
                break;
            }
        } else {
            at += 1;
        }
    }
    [&text[..from], &text[at..]].concat()
}

/// The objects of a PDF with one table, by their numbers from 1, and the number of its
/// catalogue.
fn objects(pdf: &[u8]) -> (Vec<Vec<u8>>, usize) {
    let end = pdf.len() - 1_024.min(pdf.len());
    let word = b"startxref";
    let tail = find(pdf, word, end).unwrap_or_else(|| panic!("no end"));
    let table = number_at(pdf, tail + word.len());
    let rows = find(pdf, b"0000000000", table).unwrap_or_else(|| panic!("no table"));
    let trailer = find(pdf, b"trailer", table).unwrap_or_else(|| panic!("no trailer"));
    let places: Vec<usize> = (rows + 20..trailer)
        .step_by(20)
        .filter(|at| pdf.get(at + 17) == Some(&b'n'))
        .map(|at| number_at(pdf, at))
        .collect();
    let mut ends = places.clone();
    ends.push(table);
    ends.sort_unstable();
    let object = |from: &usize| {
        let next = ends.iter().find(|end| *end > from).unwrap_or(&table);
        pdf[*from..*next].to_vec()
    };
    let root = find(pdf, b"/Root", trailer).unwrap_or_else(|| panic!("no root"));
    (
        places.iter().map(object).collect(),
        number_at(pdf, root + 5),
    )
}

/// The same pages with these files attached, and no others. Two may have one name.
///
/// # Panics
/// Where the PDF is not written as this program writes it.
pub fn refilled(pdf: &[u8], files: &[(String, Vec<u8>)]) -> Vec<u8> {
    let (mut all, root) = objects(pdf);
    let catalogue = &all[root - 1];
    let catalogue = without(catalogue, b"/AF", b"[", b"]");
    let catalogue = without(&catalogue, b"/Names", b"<<", b">>");
    let close = catalogue.windows(2).rposition(|w| w == b">>");
    let close = close.unwrap_or_else(|| panic!("no catalogue"));
    let (mut names, mut others) = (String::new(), String::new());
    for (name, bytes) in files {
        let (stream, spec) = (all.len() + 1, all.len() + 2);
        let head = format!(
            "{stream} 0 obj\n<</Type/EmbeddedFile/Params<<>>/Length {}>>\nstream\n",
            bytes.len()
        );
        all.push([head.as_bytes(), bytes, b"\nendstream\nendobj\n"].concat());
        let spec_text = format!(
            "{spec} 0 obj\n<</Type/Filespec/F({name})/UF({name})/EF<</F {stream} 0 R/UF {stream} 0 R>>>>\nendobj\n"
        );
        all.push(spec_text.into_bytes());
        // Writing to a string cannot fail.
        let _ = write!(names, "({name}) {spec} 0 R ");
        let _ = write!(others, "{spec} 0 R ");
    }
    let more = format!("/Names<</EmbeddedFiles<</Names[{names}]>>>>/AF[{others}]");
    all[root - 1] = [&catalogue[..close], more.as_bytes(), &catalogue[close..]].concat();
    written(&all, root)
}

/// A PDF of these objects, numbered from 1, with its catalogue among them.
pub fn written(all: &[Vec<u8>], root: usize) -> Vec<u8> {
    let mut text = b"%PDF-1.7\n".to_vec();
    let mut rows = "0000000000 65535 f\r\n".to_owned();
    for object in all {
        let _ = write!(rows, "{:010} 00000 n\r\n", text.len());
        text.extend(object);
    }
    let (table, size) = (text.len(), all.len() + 1);
    let end = format!(
        "xref\n0 {size}\n{rows}trailer\n<</Size {size}/Root {root} 0 R>>\nstartxref\n{table}\n%%EOF\n"
    );
    text.extend(end.into_bytes());
    text
}
