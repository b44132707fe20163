//! Small numerics and the plain data that several crates need, each written once. Knows nothing of
//! the others.
//!
//! ```text
//! vector     points and directions as plain arrays of any dimension
//! groups     which of many things hang together (union-find)
//! dense      linear systems of a few unknowns
//! cell       the name of a cell in a tree
//! rows       rows of weights over nodes
//! law        what a solver asks of an electrode law
//! couplings  how cells hang together, before anything conducts: what grid and field share
//! clock      how long something takes, on any machine
//! number     digits, round steps: numbers as people write them
//! ```
//!
//! ```
//! use ionfall_numerics::{dense, groups::Groups, number, vector};
//!
//! assert_eq!(vector::cross(&[1.0, 0.0, 0.0], &[0.0, 1.0, 0.0]), [0.0, 0.0, 1.0]);
//!
//! let mut groups = Groups::new(4);
//! groups.join(3, 1);
//! assert_eq!(groups.numbers(), [0, 1, 2, 1]);
//!
//! // x + y = 3, x - y = 1
//! let mut system = [vec![1.0, 1.0, 3.0], vec![1.0, -1.0, 1.0]];
//! assert_eq!(dense::pivoted(&mut system), [2.0, 1.0]);
//!
//! assert_eq!(number::significant(12_345.0, 3), "12300");
//! ```

#![warn(clippy::too_many_lines)]

pub mod cell;
pub mod clock;
pub mod couplings;
pub mod dense;
pub mod groups;
pub mod law;
pub mod number;
pub mod rows;
pub mod vector;
