//! Points on circles.

use egui::Pos2;

/// A point on a circle; degrees clockwise from the top.
pub fn on_circle(center: Pos2, radius: f32, deg: f32) -> Pos2 {
    let angle = deg.to_radians();
    Pos2::new(
        center.x + radius * angle.sin(),
        center.y - radius * angle.cos(),
    )
}

/// Into how many straight lines an arc of so many degrees is cut: no point of a line is
/// further than a fifth of a pixel from the arc. `radius` is in pixels.
pub fn arc_steps(radius: f32, deg: f32) -> usize {
    const OFF: f32 = 0.2;
    let step = 2.0 * (1.0 - (OFF / radius.max(0.5))).acos().to_degrees();
    (deg / step).ceil().max(deg / 45.0).max(1.0) as usize
}

/// Points along an arc; degrees clockwise from the top.
pub fn arc(center: Pos2, radius: f32, from_deg: f32, to_deg: f32) -> Vec<Pos2> {
    let steps = arc_steps(radius, (to_deg - from_deg).abs());
    (0..=steps)
        .map(|i| {
            let deg = from_deg + (to_deg - from_deg) * i as f32 / steps as f32;
            on_circle(center, radius, deg)
        })
        .collect()
}
