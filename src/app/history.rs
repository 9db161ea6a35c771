//! Steps back and forth through the versions of a layout. A step keeps the parts that it changes, so that a long day of editing stays small.

use super::part::{Item, List, Part, ids};
use crate::layout::Layout;
use std::sync::Arc;

/// What leads from one version of the layout to another.
#[derive(Debug, Clone)]
pub enum Step {
    /// These parts, each at its place in its list.
    Parts(Vec<(usize, Item)>),
    /// All of it, where parts don't lead there: fewer of them, words, the sequence in use.
    Whole(Arc<Layout>),
}

impl Step {
    /// From `here` to `there`.
    pub fn new(here: &Layout, there: &Arc<Layout>) -> Self {
        let step = Self::Parts(List::ALL.into_iter().flat_map(|list| differing(here, there, list)).collect());
        if *step.from(here) == **there { step } else { Self::Whole(there.clone()) }
    }

    /// The version that it leads to from `here`.
    pub fn from(&self, here: &Layout) -> Arc<Layout> {
        match self {
            Self::Whole(layout) => layout.clone(),
            Self::Parts(parts) => {
                let mut layout = here.clone();
                parts.iter().for_each(|(index, item)| item.clone().put(&mut layout, *index));
                Arc::new(layout)
            }
        }
    }
}

/// Parts of a list that are `there` and not the same `here`.
fn differing(here: &Layout, there: &Layout, list: List) -> Vec<(usize, Item)> {
    let parts = (0..ids(there, list).len()).map(|index| Part { list, index });
    let changed = |part: Part| part.get(there).filter(|item| part.get(here).as_ref() != Some(item)).map(|item| (part.index, item));
    parts.filter_map(changed).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::layout::demo;
    use crate::units::Length;

    #[test]
    fn a_step_keeps_what_differs_and_leads_back() {
        let old = Arc::new(demo());
        let mut new = demo();
        new.nozzles[1].bore = Length::new(31.0, "mm");
        new.tank.bracing.iter_mut().for_each(|bar| bar.id.push('x'));
        let step = Step::new(&new, &old);
        assert!(matches!(&step, Step::Parts(parts) if parts.len() == 2 + new.tank.bracing.len()), "{step:?}");
        assert_eq!(step.from(&new), old);
        let shorter = Layout { nozzles: old.nozzles[1..].to_vec(), ..demo() };
        assert_eq!(Step::new(&shorter, &old).from(&shorter), old);
        let longer = Layout { nozzles: [&old.nozzles[..], &old.nozzles[..1]].concat(), ..demo() };
        let renamed = Layout { name: "another".into(), ..demo() };
        for other in [longer, renamed] {
            assert!(matches!(Step::new(&other, &old), Step::Whole(_)));
            assert_eq!(Step::new(&other, &old).from(&other), old);
        }
    }
}
