//! What is stated, by one or by several who had not seen each other's statement.
//!
//! Statements of one thing are ordered by who had seen which (`over`), not by when they arrived: whatever the order in which devices come back, and in
//! whatever order another workshop has taken their events in, the same statements stand. Each field has the value of the statement that changed it last;
//! where several changed it and none of them had seen the others, all are kept, and that which arrived first holds until a person says otherwise: what has
//! been planned and worked from is not changed under anybody's hands by a device that comes back late.

use std::collections::{BTreeMap, BTreeSet};

use super::reason::{Reason, Unusable};
use crate::event::{Body, Event, Field, Id, Thing, When};

/// A thing as it is stated now.
#[derive(Clone, Debug, PartialEq)]
pub struct Stated {
    /// The thing.
    pub thing: Thing,
    /// All that holds of it, as one statement would say it.
    pub body: Body,
    /// The statements that it comes from and no other has seen: whoever states the thing anew has these before them.
    pub by: Vec<Id>,
}

/// Statements of one thing by people who had not seen each other's.
#[derive(Clone, Debug, PartialEq)]
pub struct Parallel {
    /// The thing.
    pub thing: Thing,
    /// The statements, in the order of the record.
    pub statements: Vec<Statement>,
    /// Fields of which they say different things. Where there are none, all that they changed has been taken together.
    pub clashes: Vec<Clash>,
}

/// A field of which people say different things.
#[derive(Clone, Debug, PartialEq)]
pub struct Clash {
    /// The field.
    pub field: Field,
    /// Who says what: a statement for each value, and first the one whose value holds.
    pub said: Vec<Statement>,
}

/// What somebody stated.
#[derive(Clone, Debug, PartialEq)]
pub struct Statement {
    /// The event.
    pub event: Id,
    /// When.
    pub when: When,
    /// Who.
    pub who: String,
    /// What they said.
    pub body: Body,
}

impl Statement {
    fn of(event: &Event) -> Self {
        Self { event: event.id, when: event.when.clone(), who: event.who.clone(), body: event.body.clone() }
    }
}

/// A statement among all of its thing. Others are named by their index.
struct Said<'e> {
    event: &'e Event,
    /// Its place in the record.
    at: usize,
    is_struck: bool,
    /// What was before whoever stated it.
    before: Vec<usize>,
    /// What they had stated themselves just before, on the same device: they know of it, whatever an older page showed them.
    own: Option<usize>,
}

impl Said<'_> {
    fn known(&self) -> impl Iterator<Item = usize> {
        self.before.iter().copied().chain(self.own)
    }
}

/// All statements of one thing, each behind those that it knows of.
pub(super) struct Line<'e> {
    thing: Thing,
    said: Vec<Said<'e>>,
}

/// A thing, read.
pub(super) struct Holding<T> {
    pub(super) value: T,
    pub(super) stated: Stated,
    pub(super) parallel: Option<Parallel>,
    /// Where in the record it is first stated.
    pub(super) first_at: usize,
}

/// For each field, the statements whose value of it is seen: several where they were made in parallel.
type View = Vec<BTreeSet<usize>>;

/// The statements among events in the order of the record, by their things.
pub(super) fn lines<'e>(all: &[&'e Event], struck: &BTreeSet<Id>) -> Vec<Line<'e>> {
    let mut by_thing: BTreeMap<Thing, Vec<(usize, &Event)>> = BTreeMap::new();
    for (at, event) in all.iter().enumerate() {
        if let Some(thing) = Thing::stated_by(&event.body) {
            by_thing.entry(thing).or_default().push((at, event));
        }
    }
    by_thing.into_iter().map(|(thing, said)| Line { thing, said: in_order(linked(&said, struck)) }).collect()
}

/// Statements in the order of the record, each with those it knows of.
fn linked<'e>(events: &[(usize, &'e Event)], struck: &BTreeSet<Id>) -> Vec<Said<'e>> {
    let mut index = BTreeMap::new();
    for (i, (_, event)) in events.iter().enumerate() {
        index.entry(event.id).or_insert(i);
    }
    let mut last_of = BTreeMap::new();
    // Those so far that none after them knows of.
    let mut open: Vec<usize> = Vec::new();
    let mut said = Vec::new();
    for (i, &(at, event)) in events.iter().enumerate() {
        let before: Vec<usize> = match &event.over {
            Some(over) => over.iter().filter_map(|id| index.get(id).copied()).filter(|before| *before != i).collect(),
            // What does not say what it was stated over takes the place of all before it.
            None => open.clone(),
        };
        // What came back late was made before: it knows of nothing that was said since.
        let is_before = |own: &usize| events.get(*own).is_some_and(|(_, own)| own.when.seconds_since(&event.when) <= 0);
        let own = last_of.insert((event.device, event.who.as_str()), i).filter(|own| !before.contains(own) && is_before(own));
        open.retain(|known| !before.contains(known));
        open.push(i);
        said.push(Said { event, at, is_struck: struck.contains(&event.id), before, own });
    }
    said
}

/// Puts each behind those that it knows of; otherwise in the order of the record. Where statements claim to know of each other in a circle, that which
/// arrived first knew of none of them.
fn in_order<'e>(said: Vec<Said<'e>>) -> Vec<Said<'e>> {
    let mut waits: Vec<usize> = said.iter().map(|one| one.known().count()).collect();
    let mut known_by: Vec<Vec<usize>> = vec![Vec::new(); said.len()];
    for (i, one) in said.iter().enumerate() {
        one.known().for_each(|known| known_by[known].push(i));
    }
    let mut ready: BTreeSet<usize> = (0..said.len()).filter(|i| waits[*i] == 0).collect();
    let mut left: BTreeSet<usize> = (0..said.len()).collect();
    let mut order = Vec::new();
    while let Some(next) = ready.pop_first().or_else(|| left.first().copied()) {
        if !left.remove(&next) {
            continue;
        }
        order.push(next);
        for &after in &known_by[next] {
            waits[after] = waits[after].saturating_sub(1);
            if waits[after] == 0 {
                ready.insert(after);
            }
        }
    }
    let mut place = vec![0; said.len()];
    order.iter().enumerate().for_each(|(to, from)| place[*from] = to);
    let mut placed: Vec<(usize, Said<'e>)> = said.into_iter().enumerate().map(|(from, one)| (place[from], one)).collect();
    placed.sort_by_key(|(to, _)| *to);
    let moved = |(to, one): (usize, Said<'e>)| Said {
        before: one.before.iter().map(|from| place[*from]).filter(|before| *before < to).collect(),
        own: one.own.map(|from| place[from]).filter(|own| *own < to),
        ..one
    };
    placed.into_iter().map(moved).collect()
}

impl Line<'_> {
    /// Reads the thing as it is stated now; none where nothing of it can be used, or where it is another kind of thing than is read. What can't be used is
    /// listed.
    pub(super) fn taken<T>(&self, read: &impl Fn(&Body) -> Option<Result<T, Reason>>, unusable: &mut Vec<Unusable>) -> Option<Holding<T>> {
        let mut counts = vec![false; self.said.len()];
        for (i, one) in self.said.iter().enumerate().filter(|(_, one)| !one.is_struck) {
            match read(&one.event.body)? {
                Ok(_) => counts[i] = true,
                Err(why) => unusable.push(Unusable { event: one.event.id, why }),
            }
        }
        let heads = self.unseen(&counts);
        let seen = Seen { line: self, views: self.views(&counts) };
        let first = heads.iter().copied().min_by_key(|head| self.said[*head].at)?;
        let first_at = (0..counts.len()).filter(|i| counts[*i]).map(|i| self.said[i].at).min()?;
        let view = seen.together(&heads);
        let (body, value, clashes) = match self.merged(first, &view, read) {
            Some((body, value)) => (body, value, self.clashes(None, &view)),
            // What they say does not fit together: nothing of it is mixed.
            None => {
                let body = self.said[first].event.body.clone();
                let value = read(&body)?.ok()?;
                (body, value, self.clashes(Some(first), &view))
            }
        };
        let says_more = |head: &usize| self.fields().iter().any(|field| !self.body(*head).is_same_in(&body, *field));
        let is_parallel = !clashes.is_empty() || (heads.len() > 1 && heads.iter().any(says_more));
        let mut in_record = heads;
        in_record.sort_by_key(|head| self.said[*head].at);
        let parallel = is_parallel.then(|| Parallel {
            thing: self.thing.clone(),
            statements: in_record.iter().map(|head| Statement::of(self.said[*head].event)).collect(),
            clashes,
        });
        let by = in_record.iter().map(|head| self.said[*head].event.id).collect();
        Some(Holding { value, stated: Stated { thing: self.thing.clone(), body, by }, parallel, first_at })
    }

    fn body(&self, i: usize) -> &Body {
        &self.said[i].event.body
    }

    fn fields(&self) -> &'static [Field] {
        self.said.first().map_or(&[], |one| one.event.body.fields())
    }

    /// Statements that count and that no other which counts knows of.
    fn unseen(&self, counts: &[bool]) -> Vec<usize> {
        let mut is_known = vec![false; self.said.len()];
        for (i, one) in self.said.iter().enumerate().rev() {
            if counts[i] || is_known[i] {
                one.known().for_each(|known| is_known[known] = true);
            }
        }
        (0..self.said.len()).filter(|i| counts[*i] && !is_known[*i]).collect()
    }

    /// For each statement what whoever sees it sees.
    fn views(&self, counts: &[bool]) -> Vec<View> {
        let mut seen = Seen { line: self, views: Vec::new() };
        for (i, one) in self.said.iter().enumerate() {
            let before = seen.together(&one.before);
            let known = match one.own {
                Some(own) => seen.together(&one.before.iter().copied().chain([own]).collect::<Vec<_>>()),
                None => before.clone(),
            };
            let view = self.fields().iter().zip(before).zip(known).map(|((field, before), known)| {
                let is_unchanged = !before.is_empty() && before.iter().all(|of| self.body(*of).is_same_in(self.body(i), *field));
                // Who says again what was struck out or could not be used says it themselves.
                let kept: BTreeSet<usize> = known.into_iter().filter(|of| !counts[i] || counts[*of]).collect();
                if is_unchanged && !kept.is_empty() { kept } else { BTreeSet::from([i]) }
            });
            let view = view.collect();
            seen.views.push(view);
        }
        seen.views
    }

    /// One statement of all that is seen: of each field what arrived first. None where that can't be used.
    fn merged<T>(&self, first: usize, view: &View, read: &impl Fn(&Body) -> Option<Result<T, Reason>>) -> Option<(Body, T)> {
        let mut body = self.body(first).clone();
        for (field, of) in self.fields().iter().zip(view) {
            if let Some(holds) = of.iter().min_by_key(|of| self.said[**of].at) {
                body.take_field(self.body(*holds), *field);
            }
        }
        let value = read(&body)?.ok()?;
        Some((body, value))
    }

    /// Fields of which what is seen differs, from each other and from the statement that holds whole, where one does.
    fn clashes(&self, holding: Option<usize>, view: &View) -> Vec<Clash> {
        let clash = |(field, of): (&Field, &BTreeSet<usize>)| {
            let mut in_record: Vec<usize> = of.iter().copied().collect();
            in_record.sort_by_key(|of| self.said[*of].at);
            let mut said: Vec<usize> = Vec::new();
            for of in holding.into_iter().chain(in_record) {
                if said.iter().all(|other| !self.body(*other).is_same_in(self.body(of), *field)) {
                    said.push(of);
                }
            }
            let statements = || said.iter().map(|of| Statement::of(self.said[*of].event)).collect();
            (said.len() > 1).then(|| Clash { field: *field, said: statements() })
        };
        self.fields().iter().zip(view).filter_map(clash).collect()
    }
}

/// What whoever sees each of the first statements of a thing sees.
struct Seen<'l, 'e> {
    line: &'l Line<'e>,
    views: Vec<View>,
}

impl Seen<'_, '_> {
    /// What is seen by whoever has some statements before them: a value that one of these knows of and has replaced is gone.
    fn together(&self, statements: &[usize]) -> View {
        match statements {
            [] => vec![BTreeSet::new(); self.line.fields().len()],
            [one] => self.views[*one].clone(),
            several => {
                let known: Vec<(usize, Vec<bool>)> = several.iter().map(|one| (*one, self.known_of(*one))).collect();
                let of_field = |field: usize| {
                    let is_replaced = |of: usize| known.iter().any(|(by, known)| known[of] && !self.views[*by][field].contains(&of));
                    let all = several.iter().flat_map(|one| self.views[*one][field].iter().copied());
                    all.filter(|of| !is_replaced(*of)).collect()
                };
                (0..self.line.fields().len()).map(of_field).collect()
            }
        }
    }

    /// Which statements one knows of, with itself.
    fn known_of(&self, one: usize) -> Vec<bool> {
        let mut is_known = vec![false; self.views.len()];
        is_known[one] = true;
        for i in (0..=one).rev().filter(|i| *i < self.line.said.len()) {
            if is_known[i] {
                self.line.said[i].known().for_each(|known| is_known[known] = true);
            }
        }
        is_known
    }
}
