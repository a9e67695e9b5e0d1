//! Things that each hang on at most one other: in which order can they be placed, and which hang on themselves?

/// The answer for a whole file.
#[derive(Debug, Default)]
pub(super) struct Chains {
    /// All of them, each behind what it hangs on.
    pub(super) order: Vec<usize>,
    /// Those that hang on themselves, each circle once, in the order in which one leads to the next.
    pub(super) circles: Vec<Vec<usize>>,
}

#[derive(Clone, Copy, PartialEq)]
enum State {
    New,
    Open,
    Done,
}

impl Chains {
    /// `on` gives what each one hangs on.
    pub(super) fn new(on: &[Option<usize>]) -> Self {
        let mut chains = Self::default();
        let mut states = vec![State::New; on.len()];
        for start in 0..on.len() {
            chains.follow(start, on, &mut states);
        }
        chains
    }

    fn follow(&mut self, start: usize, on: &[Option<usize>], states: &mut [State]) {
        let mut path = Vec::new();
        let mut next = Some(start);
        while let Some(at) = next {
            let Some(state) = states.get_mut(at) else { break };
            if *state != State::New {
                if *state == State::Open {
                    let first = path.iter().position(|other| *other == at).unwrap_or(0);
                    self.circles.push(path.get(first..).unwrap_or_default().to_vec());
                }
                break;
            }
            *state = State::Open;
            path.push(at);
            next = on.get(at).copied().flatten();
        }
        for at in path.into_iter().rev() {
            states.get_mut(at).into_iter().for_each(|state| *state = State::Done);
            self.order.push(at);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_stands_behind_what_it_hangs_on() {
        let chains = Chains::new(&[Some(2), None, Some(1), Some(2)]);
        assert_eq!(chains.order, [1, 2, 0, 3]);
        assert!(chains.circles.is_empty());
    }

    #[test]
    fn a_circle_is_found_once_and_without_what_only_leads_to_it() {
        let chains = Chains::new(&[Some(1), Some(2), Some(3), Some(1), Some(4), Some(0)]);
        assert_eq!(chains.circles, [vec![1, 2, 3], vec![4]]);
        assert_eq!(chains.order.len(), 6);
    }
}
