//! Pictures of a screen without a window and without a graphics card.
//!
//! The screen is run in a context of its own, cut into triangles and filled in by the
//! processor, as a graphics card would: premultiplied colours, blended as they are
//! stored. The same input gives the same bytes.

use std::collections::BTreeMap;
use std::fs::File;
use std::io::{self, BufWriter};
use std::path::Path;

use egui::epaint::{ClippedPrimitive, ImageData, Mesh, Primitive, Vertex};
use egui::{Color32, ColorImage, Context, Event, Pos2, RawInput, Rect, TextureId, Ui, Vec2};

use crate::ui::theme::Theme;

/// A picture: rows from the top, four bytes a pixel (red, green, blue, opaque).
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Image {
    /// Pixels across.
    pub width: usize,
    /// Pixels down.
    pub height: usize,
    /// `4 * width * height` bytes.
    pub rgba: Vec<u8>,
}

impl Image {
    /// Writes the picture as a PNG file.
    ///
    /// # Errors
    /// What the file system or the encoder reports.
    pub fn save_png(&self, path: &Path) -> io::Result<()> {
        let file = BufWriter::new(File::create(path)?);
        let mut encoder = png::Encoder::new(file, self.width as u32, self.height as u32);
        encoder.set_color(png::ColorType::Rgba);
        encoder.set_depth(png::BitDepth::Eight);
        let mut writer = encoder.write_header().map_err(io::Error::other)?;
        writer
            .write_image_data(&self.rgba)
            .map_err(io::Error::other)?;
        writer.finish().map_err(io::Error::other)
    }
}

/// Draws `ui` for some frames (at least one; two let sizes settle) and pictures the last.
/// `size` is in points, a pixel is `1 / pixels_per_point` of one.
pub fn picture(
    theme: Theme,
    size: Vec2,
    pixels_per_point: f32,
    frames: usize,
    mut ui: impl FnMut(&mut Ui),
) -> Image {
    let mut screen = HeadlessScreen::new(theme, size, pixels_per_point);
    for _ in 1..frames.max(1) {
        screen.frame(Vec::new(), &mut ui);
    }
    screen.frame(Vec::new(), &mut ui);
    screen.image()
}

/// Runs a screen frame by frame and pictures any of them.
pub struct HeadlessScreen {
    ctx: Context,
    theme: Theme,
    size: Vec2,
    pixels_per_point: f32,
    time: f64,
    textures: BTreeMap<TextureId, ColorImage>,
    primitives: Vec<ClippedPrimitive>,
}

impl HeadlessScreen {
    /// An empty screen; `size` in points.
    pub fn new(theme: Theme, size: Vec2, pixels_per_point: f32) -> Self {
        let ctx = Context::default();
        theme.install(&ctx);
        Self {
            ctx,
            theme,
            size,
            pixels_per_point,
            time: 0.0,
            textures: BTreeMap::new(),
            primitives: Vec::new(),
        }
    }

    /// The context that the frames run in.
    pub fn ctx(&self) -> &Context {
        &self.ctx
    }

    /// Runs one frame of 1/60 s with the given input.
    pub fn frame(&mut self, events: Vec<Event>, mut ui: impl FnMut(&mut Ui)) {
        let mut input = RawInput {
            screen_rect: Some(Rect::from_min_size(Pos2::ZERO, self.size)),
            time: Some(self.time),
            events,
            max_texture_side: Some(4096),
            ..RawInput::default()
        };
        if let Some(viewport) = input.viewports.get_mut(&input.viewport_id) {
            viewport.native_pixels_per_point = Some(self.pixels_per_point);
        }
        self.time += 1.0 / 60.0;
        let theme = self.theme;
        let mut output = self.ctx.run_ui(input, |root| {
            theme.install(root.ctx());
            ui(root);
        });
        let delta = std::mem::take(&mut output.textures_delta);
        self.take_textures(delta);
        self.primitives = self
            .ctx
            .tessellate(std::mem::take(&mut output.shapes), output.pixels_per_point);
        output.drop_without_applying_deltas();
    }

    fn take_textures(&mut self, mut delta: egui::TexturesDelta) {
        let mut set: Vec<_> = delta.set.drain().collect();
        set.sort_by_key(|(id, _)| *id);
        for (id, patches) in set {
            for patch in patches {
                let ImageData::Color(image) = patch.image;
                match (patch.pos, self.textures.get_mut(&id)) {
                    (Some([x, y]), Some(whole)) => blit(whole, &image, x, y),
                    _ => {
                        self.textures.insert(id, (*image).clone());
                    }
                }
            }
        }
        delta.clear();
    }

    /// The picture of the last frame, on the ground of the theme.
    pub fn image(&self) -> Image {
        let ground = self.theme.colours.paper;
        let pixels = |points: f32| (points * self.pixels_per_point).round().max(1.0) as usize;
        let mut canvas = Canvas {
            width: pixels(self.size.x),
            height: pixels(self.size.y),
            pixels: Vec::new(),
        };
        canvas.pixels = vec![ground; canvas.width * canvas.height];
        for clipped in &self.primitives {
            if let Primitive::Mesh(mesh) = &clipped.primitive {
                let texture = self.textures.get(&mesh.texture_id);
                canvas.fill(mesh, texture, clipped.clip_rect, self.pixels_per_point);
            }
        }
        Image {
            width: canvas.width,
            height: canvas.height,
            rgba: canvas
                .pixels
                .iter()
                .flat_map(|c| [c.r(), c.g(), c.b(), 255])
                .collect(),
        }
    }
}

fn blit(whole: &mut ColorImage, patch: &ColorImage, x: usize, y: usize) {
    let [width, height] = patch.size;
    for row in 0..height {
        let to = (y + row) * whole.size[0] + x;
        let from = row * width;
        if let (Some(target), Some(source)) = (
            whole.pixels.get_mut(to..to + width),
            patch.pixels.get(from..from + width),
        ) {
            target.copy_from_slice(source);
        }
    }
}

struct Canvas {
    width: usize,
    height: usize,
    pixels: Vec<Color32>,
}

impl Canvas {
    fn fill(&mut self, mesh: &Mesh, texture: Option<&ColorImage>, clip: Rect, scale: f32) {
        let bound = |v: f32, most: usize| (v * scale).round().clamp(0.0, most as f32) as usize;
        let clip = [
            bound(clip.min.x, self.width),
            bound(clip.min.y, self.height),
            bound(clip.max.x, self.width),
            bound(clip.max.y, self.height),
        ];
        for corners in mesh.triangles() {
            let corner = |i: u32| mesh.vertices.get(i as usize).copied();
            if let [Some(a), Some(b), Some(c)] = corners.map(corner) {
                self.triangle([a, b, c], texture, clip, scale);
            }
        }
    }

    /// Fills one triangle, row by row. A pixel belongs to it if its centre lies inside;
    /// one on an edge goes to the triangle on its right, so none is filled twice.
    fn triangle(
        &mut self,
        corners: [Vertex; 3],
        texture: Option<&ColorImage>,
        clip: [usize; 4],
        scale: f32,
    ) {
        let at = corners.map(|v| Pos2::new(v.pos.x * scale, v.pos.y * scale));
        let area = (at[1] - at[0]).rot90().dot(at[2] - at[0]);
        if area == 0.0 || !area.is_finite() {
            return;
        }
        let top = at.iter().map(|p| p.y).fold(f32::INFINITY, f32::min);
        let bottom = at.iter().map(|p| p.y).fold(f32::NEG_INFINITY, f32::max);
        let first = ((top - 0.5).ceil().max(0.0) as usize).max(clip[1]);
        let last = ((bottom - 0.5).ceil().max(0.0) as usize).min(clip[3]);
        // Most areas are one colour throughout, and that is found once.
        let is_plain = corners
            .windows(2)
            .all(|pair| pair[0].color == pair[1].color && pair[0].uv == pair[1].uv);
        let plain = is_plain.then(|| shade(&corners, texture, [1.0, 0.0, 0.0]));
        for row in first..last {
            let y = row as f32 + 0.5;
            let Some((left, right)) = span(&at, y) else {
                continue;
            };
            let from = ((left - 0.5).ceil().max(0.0) as usize).max(clip[0]);
            let to = ((right - 0.5).ceil().max(0.0) as usize).min(clip[2]);
            for column in from..to {
                let pixel = &mut self.pixels[row * self.width + column];
                if let Some(colour) = plain {
                    *pixel = over(colour, *pixel);
                    continue;
                }
                let p = Pos2::new(column as f32 + 0.5, y);
                let w1 = (p - at[0]).rot90().dot(at[2] - at[0]) / area;
                let w2 = (at[1] - at[0]).rot90().dot(p - at[0]) / area;
                let colour = shade(&corners, texture, [1.0 - w1 - w2, w1, w2]);
                *pixel = over(colour, *pixel);
            }
        }
    }
}

/// Where a row at height `y` enters and leaves a triangle.
fn span(at: &[Pos2; 3], y: f32) -> Option<(f32, f32)> {
    let (mut left, mut right) = (f32::INFINITY, f32::NEG_INFINITY);
    for (a, b) in [(at[0], at[1]), (at[1], at[2]), (at[2], at[0])] {
        let (upper, lower) = if a.y <= b.y { (a, b) } else { (b, a) };
        if upper.y <= y && y < lower.y {
            let x = upper.x + (y - upper.y) / (lower.y - upper.y) * (lower.x - upper.x);
            left = left.min(x);
            right = right.max(x);
        }
    }
    (left < right).then_some((left, right))
}

fn shade(corners: &[Vertex; 3], texture: Option<&ColorImage>, weights: [f32; 3]) -> [f32; 4] {
    let mut colour = [0.0; 4];
    let (mut u, mut v) = (0.0, 0.0);
    for (corner, weight) in corners.iter().zip(weights) {
        for (sum, part) in colour.iter_mut().zip(corner.color.to_array()) {
            *sum += f32::from(part) * weight;
        }
        u += corner.uv.x * weight;
        v += corner.uv.y * weight;
    }
    if let Some(texture) = texture {
        let sample = sample(texture, u, v);
        for (part, sampled) in colour.iter_mut().zip(sample) {
            *part *= sampled / 255.0;
        }
    }
    colour
}

/// The texture at a place, blended from the four texels around it.
fn sample(texture: &ColorImage, u: f32, v: f32) -> [f32; 4] {
    let [width, height] = texture.size;
    let x = (u * width as f32 - 0.5).clamp(0.0, (width.max(1) - 1) as f32);
    let y = (v * height as f32 - 0.5).clamp(0.0, (height.max(1) - 1) as f32);
    let (column, row) = (x as usize, y as usize);
    let (right, down) = ((column + 1).min(width - 1), (row + 1).min(height - 1));
    let (fx, fy) = (x - column as f32, y - row as f32);
    let mut sum = [0.0; 4];
    for (c, r, weight) in [
        (column, row, (1.0 - fx) * (1.0 - fy)),
        (right, row, fx * (1.0 - fy)),
        (column, down, (1.0 - fx) * fy),
        (right, down, fx * fy),
    ] {
        if weight > 0.0 {
            let texel = texture.pixels[r * width + c].to_array();
            for (part, value) in sum.iter_mut().zip(texel) {
                *part += f32::from(value) * weight;
            }
        }
    }
    sum
}

/// A premultiplied colour over what is there.
fn over(colour: [f32; 4], under: Color32) -> Color32 {
    if colour[3] >= 255.0 {
        let [r, g, b, _] = colour.map(|part| part.round().clamp(0.0, 255.0) as u8);
        return Color32::from_rgb(r, g, b);
    }
    let rest = 1.0 - (colour[3] / 255.0).clamp(0.0, 1.0);
    let under = under.to_array();
    let part = |i: usize| {
        (colour[i] + f32::from(under[i]) * rest)
            .round()
            .clamp(0.0, 255.0) as u8
    };
    Color32::from_rgba_premultiplied(part(0), part(1), part(2), part(3))
}
