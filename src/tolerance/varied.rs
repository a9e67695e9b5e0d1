//! The name of a figure of the drawing that may deviate.

use std::fmt;

use serde::Serialize;

use crate::drive::{Drawing, Measure};

use super::spread::Variable;

/// A figure of the drawing that may deviate.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Varied {
    /// Which stage of a series it belongs to, 1 next to the motor; `None` elsewhere.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stage: Option<usize>,
    /// A four-bar's [`Variable`], or the size's key in the design file.
    pub name: &'static str,
    /// What it is measured in.
    #[serde(skip)]
    pub measure: Measure,
}

impl Varied {
    /// The sizes of `drawing`, in their order.
    #[must_use]
    pub fn sizes(drawing: &Drawing) -> Vec<Self> {
        let is_series = matches!(drawing, Drawing::Series(_));
        let named = drawing.sizes().into_iter().map(|size| Self {
            stage: is_series.then_some(size.stage + 1),
            name: size.name,
            measure: size.measure,
        });
        named.collect()
    }

    /// The unit of its deviations.
    #[must_use]
    pub fn unit(self) -> &'static str {
        match self.measure {
            Measure::Length => "m",
            Measure::Angle => "rad",
            Measure::Number => "1",
        }
    }
}

impl From<Variable> for Varied {
    fn from(variable: Variable) -> Self {
        let is_angle = variable == Variable::ZeroCrank;
        let measure = if is_angle { Measure::Angle } else { Measure::Length };
        Self { stage: None, name: variable.name(), measure }
    }
}

/// In words.
impl fmt::Display for Varied {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(stage) = self.stage {
            write!(f, "stage {stage} ")?;
        }
        f.write_str(&self.name.replace('_', " "))
    }
}
