//! How many threads the solver uses.

use crate::error::FieldError;

/// Runs `work` with the given number of threads (0: one for every processor). Results do not
/// depend on the number.
///
/// # Errors
/// [`FieldError::Malformed`] if the threads cannot be started.
pub fn with_threads<R: Send>(
    threads: usize,
    work: impl FnOnce() -> R + Send,
) -> Result<R, FieldError> {
    let pool = rayon::ThreadPoolBuilder::new()
        .num_threads(threads)
        .build()
        .map_err(|error| FieldError::Malformed(format!("threads: {error}")))?;
    Ok(pool.install(work))
}
