//! Findings that say the same of several parts, told once.

use crate::finding::Finding;

/// Items sorted by grade, worst first; those of one rule and one reason stand together, in the order given.
pub fn grouped<T>(items: Vec<T>, finding: impl Fn(&T) -> &Finding) -> Vec<Vec<T>> {
    let mut groups: Vec<Vec<T>> = Vec::new();
    for item in items {
        let same = |group: &&mut Vec<T>| group.first().is_some_and(|first| belong(finding(first), finding(&item)));
        match groups.iter_mut().find(same) {
            Some(group) => group.push(item),
            None => groups.push(vec![item]),
        }
    }
    groups.sort_by_key(|group| std::cmp::Reverse(group.first().map(|item| finding(item).grade)));
    groups
}

fn belong(a: &Finding, b: &Finding) -> bool {
    (a.grade, &a.rule, &a.why) == (b.grade, &b.rule, &b.why)
}

/// The text that all of a group share, if they do.
pub fn shared<'a, T>(group: &'a [T], text: impl Fn(&'a T) -> &'a str) -> Option<&'a str> {
    let first = text(group.first()?);
    group.iter().all(|item| text(item) == first).then_some(first)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::finding::Grade;

    #[test]
    fn the_same_reason_is_told_once() {
        let finding = |grade, part: &str, why: &str| Finding::new(grade, "rule", part, "is", why, "mend");
        let list = vec![
            finding(Grade::Note, "a", "x"),
            finding(Grade::Fault, "b", "x"),
            finding(Grade::Note, "c", "x"),
            finding(Grade::Note, "d", "y"),
        ];
        let groups = grouped(list, |f| f);
        let parts: Vec<Vec<&str>> = groups.iter().map(|g| g.iter().map(|f| f.part.as_str()).collect()).collect();
        assert_eq!(parts, [vec!["b"], vec!["a", "c"], vec!["d"]]);
        assert_eq!(shared(&groups[1], |f| &f.mend), Some("mend"));
        assert_eq!(shared(&groups[1], |f| &f.part), None);
    }
}
