//! Welding processes by their ISO 4063 number, each with its thermal efficiency (heat input over arc energy).
//!
//! ```
//! use coldsquare_core::process::Process;
//!
//! assert_eq!(Process::from_number(135), Some(Process::MagSolid));
//! assert_eq!(Process::Tig.thermal_efficiency(), 0.6);
//! ```

use serde::{Deserialize, Serialize};

/// An arc welding process, by its reference number in ISO 4063.
///
/// ISO 4063:2009 renumbered the processes with metal-cored wire (132, 133, 138). 139 stays as in the table of
/// EN 1011-1:2009, because older procedures still use it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Process {
    /// 111: manual metal arc with covered electrode.
    ManualMetalArc,
    /// 114: self-shielded tubular cored arc.
    SelfShieldedCored,
    /// 121: submerged arc with solid wire.
    SubmergedArc,
    /// 131: MIG with solid wire, inert gas.
    MigSolid,
    /// 135: MAG with solid wire, active gas.
    MagSolid,
    /// 136: MAG with flux-cored wire, active gas.
    MagFluxCored,
    /// 137: MIG with flux-cored wire, inert gas (132 since ISO 4063:2009).
    MigFluxCored,
    /// 138: MAG with metal-cored wire, active gas.
    MagMetalCored,
    /// 139: MIG with metal-cored wire, inert gas (133 since ISO 4063:2009).
    MigMetalCored,
    /// 141: TIG with solid filler, inert gas.
    Tig,
    /// 15: plasma arc.
    Plasma,
}

impl Process {
    /// Every process, in order of number.
    pub const ALL: [Self; 11] = [
        Self::ManualMetalArc,
        Self::SelfShieldedCored,
        Self::SubmergedArc,
        Self::MigSolid,
        Self::MagSolid,
        Self::MagFluxCored,
        Self::MigFluxCored,
        Self::MagMetalCored,
        Self::MigMetalCored,
        Self::Tig,
        Self::Plasma,
    ];

    /// The process with this ISO 4063 number, if we know it. 132 and 133 have the meaning of the 2009 edition.
    #[must_use]
    pub const fn from_number(number: u16) -> Option<Self> {
        Some(match number {
            111 => Self::ManualMetalArc,
            114 => Self::SelfShieldedCored,
            121 => Self::SubmergedArc,
            131 => Self::MigSolid,
            135 => Self::MagSolid,
            136 => Self::MagFluxCored,
            132 | 137 => Self::MigFluxCored,
            138 => Self::MagMetalCored,
            133 | 139 => Self::MigMetalCored,
            141 => Self::Tig,
            15 => Self::Plasma,
            _ => return None,
        })
    }

    /// The ISO 4063 number.
    #[must_use]
    pub const fn number(self) -> u16 {
        match self {
            Self::ManualMetalArc => 111,
            Self::SelfShieldedCored => 114,
            Self::SubmergedArc => 121,
            Self::MigSolid => 131,
            Self::MagSolid => 135,
            Self::MagFluxCored => 136,
            Self::MigFluxCored => 137,
            Self::MagMetalCored => 138,
            Self::MigMetalCored => 139,
            Self::Tig => 141,
            Self::Plasma => 15,
        }
    }

    /// The name a welder uses.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::ManualMetalArc => "stick (MMA)",
            Self::SelfShieldedCored => "self-shielded flux-cored",
            Self::SubmergedArc => "submerged arc",
            Self::MigSolid => "MIG, solid wire",
            Self::MagSolid => "MAG, solid wire",
            Self::MagFluxCored => "MAG, flux-cored wire",
            Self::MigFluxCored => "MIG, flux-cored wire",
            Self::MagMetalCored => "MAG, metal-cored wire",
            Self::MigMetalCored => "MIG, metal-cored wire",
            Self::Tig => "TIG",
            Self::Plasma => "plasma",
        }
    }

    /// Thermal efficiency k: the share of the arc energy that enters the work.
    ///
    /// Source: EN 1011-1:2009, Table 1 (submerged arc 1.0; stick, MIG/MAG and cored wires 0.8; TIG and plasma 0.6).
    #[must_use]
    pub const fn thermal_efficiency(self) -> f64 {
        match self {
            Self::SubmergedArc => 1.0,
            Self::Tig | Self::Plasma => 0.6,
            _ => 0.8,
        }
    }
}
