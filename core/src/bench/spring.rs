//! The valve spring under the compressor.

use serde::Serialize;
use uom::si::energy::joule;
use uom::si::f64::{Energy, Force, Length};
use uom::si::force::newton;
use uom::si::length::millimeter;
use uom::si::surface_tension::newton_per_meter;

use super::range::{BenchError, Limit, limits};
use crate::engine::{Layout, SpringData};

/// Rate of a spring. Force per length has the dimension of a surface tension, under
/// which name the unit library keeps it.
pub type SpringRate = uom::si::f64::SurfaceTension;

/// A valve spring, linear from its seated height on, checked.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spring {
    seated_load: Force,
    rate: SpringRate,
    seated_height: Length,
    solid_height: Length,
}

impl Spring {
    /// The spring of a layout's figures.
    ///
    /// # Errors
    /// [`BenchError::OutOfRange`] for a figure outside [`limits::SPRING_LOAD`],
    /// [`limits::SPRING_RATE`] or [`limits::SPRING_HEIGHT`], or a solid height above the
    /// seated one.
    pub fn of(data: &SpringData) -> Result<Self, BenchError> {
        let seated = limits::SPRING_HEIGHT.check(data.seated_height_mm)?;
        let solid = Limit::new("solid spring height", "mm", 0.1, seated);
        Ok(Self {
            seated_load: Force::new::<newton>(limits::SPRING_LOAD.check(data.seated_load_n)?),
            rate: SpringRate::new::<newton_per_meter>(
                limits::SPRING_RATE.check(data.rate_n_per_mm)? * 1_000.0,
            ),
            seated_height: Length::new::<millimeter>(seated),
            solid_height: Length::new::<millimeter>(solid.check(data.solid_height_mm)?),
        })
    }

    /// Force after pressing the seated spring by `travel`: F = F0 + k s.
    ///
    /// # Errors
    /// [`BenchError::OutOfRange`] for a travel that is negative or beyond solid height.
    pub fn force_at(&self, travel: Length) -> Result<Force, BenchError> {
        let s = self.checked_travel(travel)?;
        Ok(self.seated_load + self.rate * s)
    }

    /// Energy put into the seated spring by pressing it by `travel`:
    /// F0 s + k s^2 / 2. It is what comes out at once if the spring slips.
    ///
    /// # Errors
    /// As [`Spring::force_at`].
    pub fn energy_at(&self, travel: Length) -> Result<Energy, BenchError> {
        let s = self.checked_travel(travel)?;
        let mean_force = self.seated_load + self.rate * s / 2.0;
        Ok(mean_force * s)
    }

    /// Travel left to solid height after pressing by `travel`.
    ///
    /// # Errors
    /// As [`Spring::force_at`].
    pub fn margin_at(&self, travel: Length) -> Result<Length, BenchError> {
        Ok(self.seated_height - self.checked_travel(travel)? - self.solid_height)
    }

    fn checked_travel(&self, travel: Length) -> Result<Length, BenchError> {
        let most = (self.seated_height - self.solid_height).get::<millimeter>();
        limits::SPRING_TRAVEL
            .between(0.0, most)
            .check(travel.get::<millimeter>())?;
        Ok(travel)
    }
}

/// What the compressor meets when the locks come out.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct SpringAnswer {
    /// Force with the spring pressed until the locks are free, newton.
    pub force_at_locks_n: f64,
    /// Energy put in by pressing it so far, joule.
    pub energy_j: f64,
    /// Travel left to solid height, millimetres.
    pub margin_mm: f64,
}

/// The spring's figures at the travel that frees the locks. `Ok(None)` if the layout
/// says nothing about the spring. For the springs of one valve together the layout
/// gives joint figures.
///
/// # Errors
/// As [`Spring::of`], and for a travel to the locks beyond solid height.
pub fn spring_answer(layout: &Layout) -> Result<Option<SpringAnswer>, BenchError> {
    let Some(data) = layout.spring else {
        return Ok(None);
    };
    let spring = Spring::of(&data)?;
    let travel = Length::new::<millimeter>(data.travel_to_locks_mm);
    Ok(Some(SpringAnswer {
        force_at_locks_n: spring.force_at(travel)?.get::<newton>(),
        energy_j: spring.energy_at(travel)?.get::<joule>(),
        // Rounding may leave a hair below nothing where the travel just reaches solid.
        margin_mm: spring.margin_at(travel)?.get::<millimeter>().max(0.0),
    }))
}
