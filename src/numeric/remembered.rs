//! A function of one variable that is worked out once at each place.

use std::cell::RefCell;
use std::collections::BTreeMap;

/// `f`, which is asked but once at each place.
///
/// # Examples
/// ```
/// use std::cell::Cell;
/// use unloop::numeric::remembered;
/// let asked = Cell::new(0);
/// let square = remembered(|x: f64| {
///     asked.set(asked.get() + 1);
///     x * x
/// });
/// assert_eq!([square(2.0), square(3.0), square(2.0)], [4.0, 9.0, 4.0]);
/// assert_eq!(asked.get(), 2);
/// ```
pub fn remembered<T: Clone>(f: impl Fn(f64) -> T) -> impl Fn(f64) -> T {
    let known: RefCell<BTreeMap<u64, T>> = RefCell::default();
    move |x| {
        let before = known.borrow().get(&x.to_bits()).cloned();
        before.unwrap_or_else(|| {
            let value = f(x);
            known.borrow_mut().insert(x.to_bits(), value.clone());
            value
        })
    }
}
