//! The words for what a user may choose between.

use clap::ValueEnum;
use clap::builder::{PossibleValue, PossibleValuesParser, TypedValueParser};

use crate::design::Preset;
use crate::dynamics::Fit;
use crate::handover::map::{Beyond, Language, MapForm, Number};
use crate::handover::{ActuatorUnits, Form, LimitBasis};
use crate::linkage::Drive;
use crate::robot::Format;
use crate::tolerance::Distribution;

impl ValueEnum for Form {
    fn value_variants<'a>() -> &'a [Self] {
        &Self::ALL
    }

    fn to_possible_value(&self) -> Option<PossibleValue> {
        let help = match self {
            Self::Direct => "One revolute joint",
            Self::Coupled => {
                "The crank as a body of its own, coupled to the joint; needs the masses of crank, coupler and child"
            }
            Self::Loop => "The true closed loop, as a reference (not URDF); needs the same masses",
        };
        Some(PossibleValue::new(self.name()).help(help))
    }
}

/// What may stand in a file in the place of the loop that it has.
pub(super) fn folded_form() -> impl TypedValueParser<Value = Form> {
    let forms = [Form::Direct, Form::Coupled];
    let values = forms.iter().filter_map(ValueEnum::to_possible_value);
    PossibleValuesParser::new(values)
        .map(move |word| forms.into_iter().find(|form| form.name() == word).unwrap_or_default())
}

/// What is told by its own word alone.
macro_rules! choices {
    ($($kind:ty: $word:ident),+) => {$(
        impl ValueEnum for $kind {
            fn value_variants<'a>() -> &'a [Self] {
                &Self::ALL
            }

            fn to_possible_value(&self) -> Option<PossibleValue> {
                Some(PossibleValue::new(self.$word()))
            }
        }
    )+};
}

choices!(
    ActuatorUnits: name,
    Beyond: name,
    Distribution: name,
    Drive: name,
    Fit: name,
    Format: id,
    Language: name,
    LimitBasis: name,
    MapForm: name,
    Number: name,
    Preset: name
);
