//! The alloys of boat plate and tube.

/// An aluminium alloy and temper. Strength is for licensed practice: none is held.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Alloy {
    /// Name, such as `5086-H116`.
    pub name: &'static str,
    /// Density, kg/m3.
    pub density_kg_m3: f64,
    /// Young's modulus, MPa.
    pub modulus_mpa: f64,
    /// Poisson's ratio.
    pub poisson: f64,
}

impl Alloy {
    /// Density, kg/mm3.
    #[must_use]
    pub fn density_kg_mm3(&self) -> f64 {
        self.density_kg_m3 * 1.0e-9
    }
    /// Mass of plate of this thickness (mm), kg/mm2.
    #[must_use]
    pub fn mass_per_area(&self, thickness: f64) -> f64 {
        self.density_kg_mm3() * thickness
    }

    const fn of(name: &'static str, density_kg_m3: f64, modulus_mpa: f64) -> Self {
        Self {
            name,
            density_kg_m3,
            modulus_mpa,
            // Of all of them: handbook values for 5086; of the others from memory.
            poisson: 0.33,
        }
    }
}

/// Every alloy a job may name, in order of name. Msi are turned to MPa at 6,895
/// MPa each and rounded. Densities: 5052 0.097, 5083 0.096, 6061 0.098 lb/in3;
/// 5086 2.66 g/cm3, 10.3 Msi (handbook values); modulus of 6061 10.1 Msi; the
/// other moduli from memory.
pub const ALLOYS: [Alloy; 6] = [
    Alloy::of("5052-H32", 2685.0, 70_300.0),
    Alloy::of("5083-H116", 2660.0, 71_000.0),
    Alloy::of("5083-H321", 2660.0, 71_000.0),
    Alloy::of("5086-H116", 2660.0, 71_000.0),
    Alloy::of("5086-H32", 2660.0, 71_000.0),
    Alloy::of("6061-T6", 2713.0, 69_600.0),
];
