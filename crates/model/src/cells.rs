//! Cell sizes where nobody says any.

/// Cells along the longest side of the liquid: at electrodes, in two and three dimensions.
const AT_ELECTRODES: [f64; 2] = [256.0, 64.0];
/// The same far from everything.
const FAR_OFF: f64 = 16.0;

/// Largest cells at electrodes, and anywhere, in a tank whose longest side is `longest_m`, m.
///
/// ```
/// assert_eq!(ionfall_model::usual_cells_m::<3>(0.32), [0.005, 0.02]);
/// ```
pub fn usual_cells_m<const D: usize>(longest_m: f64) -> [f64; 2] {
    let at_electrodes = if D == 2 {
        AT_ELECTRODES[0]
    } else {
        AT_ELECTRODES[1]
    };
    [longest_m / at_electrodes, longest_m / FAR_OFF]
}
