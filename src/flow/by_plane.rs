//! Things that lie on the planes of a box, kept plane after plane.

use serde::{Deserialize, Serialize};

/// A list cut into planes.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(super) struct ByPlane<T> {
    all: Vec<T>,
    /// Where each plane starts in `all`.
    starts: Vec<usize>,
}

impl<T> Default for ByPlane<T> {
    fn default() -> Self {
        Self { all: Vec::new(), starts: Vec::new() }
    }
}

impl<T> ByPlane<T> {
    /// What comes from now on lies on the next plane.
    pub fn begin(&mut self) {
        self.starts.push(self.all.len());
    }

    /// One more on the plane that was begun last.
    pub fn push(&mut self, one: T) {
        self.all.push(one);
    }

    /// The last one on the plane that was begun last.
    pub fn last_mut(&mut self) -> Option<&mut T> {
        let begun = self.starts.last().copied().unwrap_or_default();
        self.all[begun..].last_mut()
    }

    /// Those on plane k.
    #[inline(always)]
    pub fn on(&self, k: usize) -> &[T] {
        &self.all[self.starts[k]..self.starts.get(k + 1).copied().unwrap_or(self.all.len())]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_plane_holds_its_own() {
        let mut list = ByPlane::default();
        list.begin();
        list.push(1);
        list.push(2);
        list.begin();
        assert!(list.last_mut().is_none(), "the plane below is not looked at");
        list.begin();
        list.push(3);
        *list.last_mut().unwrap() += 1;
        assert_eq!([0, 1, 2].map(|k| list.on(k).to_vec()), [vec![1, 2], vec![], vec![4]]);
    }
}
