//! The alloys of boat plate and tube.

/// An aluminium alloy and temper. Welded strengths hold within an inch of a
/// weld. All strengths are guidance and editable by licensed practice only.
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
    /// Tensile yield, MPa.
    pub yield_mpa: f64,
    /// Tensile ultimate, MPa.
    pub ultimate_mpa: f64,
    /// Tensile yield in the weld-affected zone, MPa.
    pub welded_yield_mpa: f64,
    /// Tensile ultimate in the weld-affected zone, MPa.
    pub welded_ultimate_mpa: f64,
    /// Linear thermal expansion, 1/K.
    pub expansion_per_k: f64,
    /// Where the strengths as supplied come from.
    pub strength_source: &'static str,
    /// Where the welded strengths come from.
    pub welded_source: &'static str,
    /// Where density, modulus, ratio and expansion come from.
    pub physical_source: &'static str,
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
}

const ABS: &str = "ABS Rules for Materials and Welding 2016, Table 1B";
const HANDBOOK: &str = "handbook values for 6061-T6 extrusion, 38/35 ksi";
const MEMORY: &str = "from memory";
const WELDED: &str = "Aluminum Design Manual 2015, from memory";
const PHYSICAL_5086: &str = "handbook values for 5086: 2.66 g/cm3, 10.3 Msi, 0.33, 23.8 um/m/K";
const PHYSICAL_5083: &str = "density as 0.096 lb/in3; the rest from memory";
const PHYSICAL_5052: &str = "density 0.097 lb/in3; the rest from memory";
const PHYSICAL_6061: &str = "density 0.098 lb/in3, modulus 10.1 Msi; the rest from memory";

/// Every alloy a job may name, in order of name. Msi and ksi are turned to
/// MPa at 6.895 MPa per ksi and rounded.
pub const ALLOYS: [Alloy; 6] = [
    Alloy {
        name: "5052-H32",
        density_kg_m3: 2685.0,
        modulus_mpa: 70_300.0,
        poisson: 0.33,
        yield_mpa: 159.0,
        ultimate_mpa: 214.0,
        welded_yield_mpa: 65.5,
        welded_ultimate_mpa: 172.0,
        expansion_per_k: 23.8e-6,
        strength_source: MEMORY,
        welded_source: WELDED,
        physical_source: PHYSICAL_5052,
    },
    Alloy {
        name: "5083-H116",
        strength_source: ABS,
        ..ALLOY_5083
    },
    Alloy {
        name: "5083-H321",
        strength_source: MEMORY,
        ..ALLOY_5083
    },
    Alloy {
        name: "5086-H116",
        yield_mpa: 195.0,
        ultimate_mpa: 275.0,
        strength_source: ABS,
        ..ALLOY_5086
    },
    Alloy {
        name: "5086-H32",
        yield_mpa: 193.0,
        ultimate_mpa: 276.0,
        strength_source: MEMORY,
        ..ALLOY_5086
    },
    Alloy {
        name: "6061-T6",
        density_kg_m3: 2713.0,
        modulus_mpa: 69_600.0,
        poisson: 0.33,
        yield_mpa: 241.0,
        ultimate_mpa: 262.0,
        welded_yield_mpa: 103.0,
        welded_ultimate_mpa: 165.0,
        expansion_per_k: 23.6e-6,
        strength_source: HANDBOOK,
        welded_source: WELDED,
        physical_source: PHYSICAL_6061,
    },
];

const ALLOY_5083: Alloy = Alloy {
    name: "5083",
    density_kg_m3: 2660.0,
    modulus_mpa: 71_000.0,
    poisson: 0.33,
    yield_mpa: 215.0,
    ultimate_mpa: 305.0,
    welded_yield_mpa: 124.0,
    welded_ultimate_mpa: 276.0,
    expansion_per_k: 23.8e-6,
    strength_source: ABS,
    welded_source: WELDED,
    physical_source: PHYSICAL_5083,
};

const ALLOY_5086: Alloy = Alloy {
    name: "5086",
    density_kg_m3: 2660.0,
    modulus_mpa: 71_000.0,
    poisson: 0.33,
    yield_mpa: 195.0,
    ultimate_mpa: 275.0,
    welded_yield_mpa: 96.5,
    welded_ultimate_mpa: 241.0,
    expansion_per_k: 23.8e-6,
    strength_source: ABS,
    welded_source: WELDED,
    physical_source: PHYSICAL_5086,
};
