//! The six stage colours, the ring of a bay and the signs of need under the three common
//! kinds of colour blindness, and the ring and the signs without any colour.
//!
//! Sources: G. M. Machado, M. M. Oliveira, L. A. F. Fernandes, "A Physiologically-based
//! Model for Simulation of Color Vision Deficiency", IEEE TVCG 15 (2009), the matrices
//! for severity 1.0, applied to linear RGB (from memory). Colour difference: CIEDE2000,
//! checked against pairs of G. Sharma, W. Wu, E. N. Dalal, "The CIEDE2000
//! Color-Difference Formula", Color Research and Application 30 (2005), table 1 (from
//! memory). sRGB to CIE XYZ, D65: IEC 61966-2-1.

use egui::{Color32, pos2, vec2};
use trayzero::ui::picture::picture;
use trayzero::ui::screens::lay_paper;
use trayzero::ui::theme::{NIGHT, SHOP_LIGHT, Theme, Tone};
use trayzero::ui::widgets::bay_tile::need_sign;
use trayzero::ui::widgets::valve_ring::arcs;
use trayzero::ui::words::Urgency;

type Triple = [f64; 3];
type Matrix = [Triple; 3];

const NORMAL: Matrix = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
const PROTAN: Matrix = [
    [0.152_286, 1.052_583, -0.204_868],
    [0.114_503, 0.786_281, 0.099_216],
    [-0.003_882, -0.048_116, 1.051_998],
];
const DEUTAN: Matrix = [
    [0.367_322, 0.860_646, -0.227_968],
    [0.280_085, 0.672_501, 0.047_413],
    [-0.011_820, 0.042_940, 0.968_881],
];
const TRITAN: Matrix = [
    [1.255_528, -0.076_749, -0.178_779],
    [-0.078_411, 0.930_809, 0.147_602],
    [0.004_733, 0.691_367, 0.303_900],
];
const TO_XYZ: Matrix = [
    [0.412_456_4, 0.357_576_1, 0.180_437_5],
    [0.212_672_9, 0.715_152_2, 0.072_175_0],
    [0.019_333_9, 0.119_192_0, 0.950_304_1],
];

const SIGHTS: [(&str, Matrix); 4] = [
    ("normal sight", NORMAL),
    ("protanopia", PROTAN),
    ("deuteranopia", DEUTAN),
    ("tritanopia", TRITAN),
];

/// Colours that differ by less are hard to tell apart from afar (common practice, no source).
const APART: f64 = 10.0;

fn times(m: &Matrix, v: Triple) -> Triple {
    m.map(|row| row[0] * v[0] + row[1] * v[1] + row[2] * v[2])
}

fn lab(colour: Color32, sight: &Matrix) -> Triple {
    let linear = [colour.r(), colour.g(), colour.b()].map(|part| {
        let c = f64::from(part) / 255.0;
        if c <= 0.04045 {
            c / 12.92
        } else {
            ((c + 0.055) / 1.055).powf(2.4)
        }
    });
    let seen = times(sight, linear).map(|c| c.clamp(0.0, 1.0));
    let xyz = times(&TO_XYZ, seen);
    let white = times(&TO_XYZ, [1.0; 3]);
    let f = |i: usize| {
        let t = xyz[i] / white[i];
        if t > 216.0 / 24389.0 {
            t.cbrt()
        } else {
            (24389.0 / 27.0 * t + 16.0) / 116.0
        }
    };
    [
        116.0 * f(1) - 16.0,
        500.0 * (f(0) - f(1)),
        200.0 * (f(1) - f(2)),
    ]
}

fn ciede2000(first: Triple, second: Triple) -> f64 {
    let chroma_mean = f64::midpoint(first[1].hypot(first[2]), second[1].hypot(second[2]));
    let seventh = |c: f64| (c.powi(7) / (c.powi(7) + 25.0_f64.powi(7))).sqrt();
    let stretch = 1.0 + 0.5 * (1.0 - seventh(chroma_mean));
    let polar = |v: Triple| {
        let a = v[1] * stretch;
        let hue = if a == 0.0 && v[2] == 0.0 {
            0.0
        } else {
            v[2].atan2(a).to_degrees().rem_euclid(360.0)
        };
        (v[0], a.hypot(v[2]), hue)
    };
    let ((l1, c1, h1), (l2, c2, h2)) = (polar(first), polar(second));
    let is_grey = c1 * c2 == 0.0;
    let turn = if is_grey {
        0.0
    } else {
        (h2 - h1 + 180.0).rem_euclid(360.0) - 180.0
    };
    let (dl, dc) = (l2 - l1, c2 - c1);
    let dh = 2.0 * (c1 * c2).sqrt() * (turn / 2.0).to_radians().sin();
    let (light, chroma) = (f64::midpoint(l1, l2), f64::midpoint(c1, c2));
    let hue = if is_grey {
        h1 + h2
    } else if (h1 - h2).abs() <= 180.0 {
        f64::midpoint(h1, h2)
    } else if h1 + h2 < 360.0 {
        f64::midpoint(h1 + 360.0, h2)
    } else {
        f64::midpoint(h1 - 360.0, h2)
    };
    let cos = |deg: f64| deg.to_radians().cos();
    let weight = 1.0 - 0.17 * cos(hue - 30.0) + 0.24 * cos(2.0 * hue) + 0.32 * cos(3.0 * hue + 6.0)
        - 0.20 * cos(4.0 * hue - 63.0);
    let off = (light - 50.0).powi(2);
    let sl = 1.0 + 0.015 * off / (20.0 + off).sqrt();
    let (sc, sh) = (1.0 + 0.045 * chroma, 1.0 + 0.015 * chroma * weight);
    let swing = 60.0 * (-((hue - 275.0) / 25.0).powi(2)).exp();
    let rt = -2.0 * seventh(chroma) * swing.to_radians().sin();
    let (dl, dc, dh) = (dl / sl, dc / sc, dh / sh);
    (dl * dl + dc * dc + dh * dh + rt * dc * dh).sqrt()
}

#[test]
fn the_difference_agrees_with_published_pairs() {
    let pairs = [
        ([50.0, 2.6772, -79.7751], [50.0, 0.0, -82.7485], 2.0425),
        ([50.0, 3.1571, -77.2803], [50.0, 0.0, -82.7485], 2.8615),
        ([50.0, -1.3802, -84.2814], [50.0, 0.0, -82.7485], 1.0),
        ([50.0, 0.0, 0.0], [50.0, -1.0, 2.0], 2.3669),
        ([50.0, 2.49, -0.001], [50.0, -2.49, 0.0009], 7.1792),
        ([50.0, 2.49, -0.001], [50.0, -2.49, 0.0011], 7.2195),
        ([50.0, 2.5, 0.0], [73.0, 25.0, -18.0], 27.1492),
        ([50.0, 2.5, 0.0], [61.0, -5.0, 29.0], 22.8977),
        ([50.0, 2.5, 0.0], [56.0, -27.0, -3.0], 31.9030),
        ([50.0, 2.5, 0.0], [58.0, 24.0, 15.0], 19.4535),
        (
            [60.2574, -34.0099, 36.2677],
            [60.4626, -34.1751, 39.4387],
            1.2644,
        ),
        (
            [2.0776, 0.0795, -1.1350],
            [0.9033, -0.0636, -0.5514],
            0.9082,
        ),
    ];
    for (p, q, published) in pairs {
        let is = ciede2000(p, q);
        assert!(
            (is - published).abs() < 5e-5,
            "{p:?} {q:?}: {is:.4}, published {published}"
        );
        assert!(
            (ciede2000(q, p) - is).abs() < 1e-9,
            "{p:?} {q:?} is not symmetric"
        );
    }
}

#[test]
fn stage_colours_stay_apart_under_colour_blindness() {
    for (theme, colours) in [("shop light", SHOP_LIGHT), ("night", NIGHT)] {
        for (sight, matrix) in &SIGHTS {
            let mut nearest = f64::INFINITY;
            for i in 0..6 {
                for j in 0..i {
                    let [a, b] = [i, j].map(|k| lab(colours.stages[k], matrix));
                    let apart = ciede2000(a, b);
                    nearest = nearest.min(apart);
                    assert!(
                        apart >= APART,
                        "{theme}, {sight}: stages {} and {} are {apart:.1} apart",
                        j + 1,
                        i + 1
                    );
                }
            }
            println!("{theme}, {sight}: nearest two stages are {nearest:.1} apart");
        }
    }
}

/// How light a colour looks, as WCAG 2.2 has it ("relative luminance"), to whoever sees so.
fn luminance(colour: Color32, sight: &Matrix) -> f64 {
    let y = (lab(colour, sight)[0] + 16.0) / 116.0;
    if y > 6.0 / 29.0 {
        y.powi(3)
    } else {
        (y - 4.0 / 29.0) * 3.0 * (6.0_f64 / 29.0).powi(2)
    }
}

fn contrast(one: Color32, other: Color32, sight: &Matrix) -> f64 {
    let [one, other] = [one, other].map(|colour| luminance(colour, sight));
    (one.max(other) + 0.05) / (one.min(other) + 0.05)
}

#[test]
fn the_ring_and_the_signs_of_need_stay_apart_under_colour_blindness() {
    for (theme, c) in [("shop light", SHOP_LIGHT), ("night", NIGHT)] {
        let ring = [
            ("not begun", c.edge),
            ("begun", c.ink),
            ("unlocked", c.open.mark),
            ("verified", c.done.mark),
        ];
        let signs = [("urgent", c.astray.mark), ("asked", c.now.ground)];
        for (sight, matrix) in &SIGHTS {
            for (name, colour) in ring.iter().chain(&signs) {
                let stands_out = contrast(*colour, c.card, matrix);
                assert!(
                    stands_out >= 3.0,
                    "{theme}, {sight}: {name} has {stands_out:.2} : 1 on its card"
                );
            }
            let apart =
                |one: Color32, other: Color32| ciede2000(lab(one, matrix), lab(other, matrix));
            // The signs' colours may come nearer: their shapes differ (below).
            let signs = apart(signs[0].1, signs[1].1);
            let (mut nearest, mut which) = (f64::INFINITY, ("", ""));
            for (at, (name, colour)) in ring.iter().enumerate() {
                for (other, other_colour) in &ring[..at] {
                    let apart = apart(*colour, *other_colour);
                    if apart < nearest {
                        (nearest, which) = (apart, (*name, *other));
                    }
                }
            }
            println!(
                "{theme}, {sight}: nearest of the ring {which:?} {nearest:.1}, signs {signs:.1}"
            );
            assert!(
                nearest >= APART,
                "{theme}, {sight}: {which:?} are {nearest:.1} apart"
            );
        }
    }
}

#[test]
fn without_any_colour_the_looks_of_the_ring_differ_in_breadth_place_or_number() {
    // Stages seen: none, the first, three (locks out), all six.
    let looks = [0, 1, 3, 6].map(|seen| arcs(&[seen]));
    for (at, one) in looks.iter().enumerate() {
        for other in &looks[..at] {
            let breadth = one[0].width / other[0].width;
            let is_broader = !(0.7..1.4).contains(&breadth);
            let is_elsewhere = (one[0].radius - other[0].radius).abs() > 0.1;
            let is_cut = one.len() != other.len();
            let ways = [is_broader, is_elsewhere, is_cut];
            assert!(ways.contains(&true), "{one:?} and {other:?} look alike");
        }
    }
    assert_eq!(looks[2].len(), 2, "an unlocked valve is in two halves");
}

/// Where a sign's pixels are unlike its ground, whatever their colour.
fn silhouette(urgency: Urgency) -> Vec<bool> {
    let theme = Theme::new(Tone::ShopLight, 1.0);
    let image = picture(theme, vec2(64.0, 64.0), 1.0, 2, |ui| {
        lay_paper(ui, &theme);
        need_sign(ui, pos2(32.0, 32.0), 48.0, urgency);
    });
    let ground = image.rgba[..3].to_vec();
    let pixels = image.rgba.chunks(4);
    pixels.map(|pixel| pixel[..3] != ground).collect()
}

#[test]
fn without_any_colour_the_signs_of_need_differ_in_shape() {
    let [urgent, asked] = [Urgency::Urgent, Urgency::Asked].map(silhouette);
    let covered = |shape: &[bool]| shape.iter().filter(|on| **on).count();
    let differ = urgent.iter().zip(&asked).filter(|(a, b)| a != b).count();
    let least = covered(&urgent).min(covered(&asked));
    println!("signs: {differ} pixels of {least} differ");
    assert!(least > 300, "both signs are drawn");
    assert!(differ * 5 > least, "{differ} pixels of {least} differ");
    assert_eq!(covered(&silhouette(Urgency::Calm)), 0, "calm has no sign");
}
