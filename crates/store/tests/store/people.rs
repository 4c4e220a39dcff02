//! What every store of people does. A store that is added is added to `every_store`, and to nothing else here.

use std::sync::atomic::{AtomicU32, Ordering};

use lastmicron_access::{Code, Device, Grant, Holding, KeptCode, Link, LinkDays, Person, Role, Secret, Token};
use lastmicron_job::event::Digest;
use lastmicron_store::{People, SignIn, SignedIn, Sqlite};

use crate::pen::id;

/// Opens each kind of store, fresh and in a folder of its own, and again in the same folder.
fn every_store(check: impl Fn(&dyn Fn() -> Box<dyn People>)) {
    let folder = tempfile::tempdir().unwrap();
    check(&|| Box::new(Sqlite::open(folder.path()).unwrap()));
}

fn person(n: u64, name: &str, role: Role) -> Person {
    Person { id: id(n), name: name.to_owned(), role, secret: None, since_s: 5, removed_s: None }
}

fn device(n: u64, person: u64) -> Device {
    let name = "bay tablet".to_owned();
    Device { id: id(n), name, is_shared: true, person: id(person), since_s: 1, signed_in_s: 2, active_s: 3, is_locked: false }
}

fn token(n: u8) -> Digest {
    Token::of([n; 32]).hash()
}

fn signing_in(device: Device, n: u8) -> SignIn {
    SignIn { code: None, person: None, device, must_be_known: false, token: token(n) }
}

fn code(n: u8, grant: Grant) -> KeptCode {
    Code::of(&[n; 32]).kept(grant, 100)
}

#[test]
fn nobody_is_known_at_first() {
    every_store(|open| {
        let store = open();
        assert_eq!((store.people().unwrap(), store.devices().unwrap(), store.links().unwrap()), (vec![], vec![], vec![]));
        assert_eq!((store.device(token(1)).unwrap(), store.code(token(1)).unwrap(), store.link(token(1)).unwrap()), (None, None, None));
    });
}

#[test]
fn people_are_as_they_were_put_in_and_no_two_who_are_here_have_the_same_name() {
    every_store(|open| {
        let store = open();
        let owner = Person { secret: Some(Secret::typed("402817").kept([1; 16]).unwrap()), ..person(2, "M.", Role::Owner) };
        let helper = person(1, "T. \u{c4}.", Role::Helper);
        assert_eq!([&owner, &helper].map(|one| store.put_person(one).unwrap()), [true, true]);
        assert!(!store.put_person(&person(3, "M.", Role::Helper)).unwrap());
        drop(store);
        let store = open();
        assert_eq!(store.people().unwrap(), [helper.clone(), owner.clone()]);
        let gone = Person { removed_s: Some(9), ..owner };
        assert!(store.put_person(&gone).unwrap());
        assert!(store.put_person(&person(3, "M.", Role::Owner)).unwrap());
        assert_eq!(store.people().unwrap(), [helper, gone, person(3, "M.", Role::Owner)]);
    });
}

#[test]
fn a_device_is_known_by_what_it_was_given_last_and_by_what_it_had_before_until_it_is_seen() {
    every_store(|open| {
        let store = open();
        assert_eq!(store.sign_in(&signing_in(device(10, 1), 1)).unwrap(), SignedIn::Done);
        assert_eq!(store.device(token(1)).unwrap(), Some((device(10, 1), Holding::Current)));
        let other = Device { person: id(2), signed_in_s: 50, active_s: 50, ..device(10, 1) };
        assert_eq!(store.sign_in(&signing_in(other.clone(), 2)).unwrap(), SignedIn::Done);
        drop(store);
        let store = open();
        assert_eq!(store.device(token(1)).unwrap(), Some((other.clone(), Holding::Previous)));
        assert_eq!(store.device(token(2)).unwrap(), Some((other.clone(), Holding::Current)));
        store.seen(id(10), 70).unwrap();
        assert_eq!(store.device(token(1)).unwrap(), None);
        store.lock(id(10)).unwrap();
        let locked = Device { active_s: 70, is_locked: true, ..other };
        assert_eq!(store.device(token(2)).unwrap(), Some((locked.clone(), Holding::Current)));
        assert_eq!((store.devices().unwrap(), store.been_at(id(10)).unwrap()), (vec![locked], vec![id(1), id(2)]));
    });
}

#[test]
fn a_device_that_is_revoked_is_unknown_at_once_and_no_other() {
    every_store(|open| {
        let store = open();
        for (n, of) in [(10, 1), (11, 2)] {
            store.sign_in(&signing_in(device(n, u64::from(of)), of)).unwrap();
        }
        store.revoke(id(10)).unwrap();
        assert_eq!((store.device(token(1)).unwrap(), store.been_at(id(10)).unwrap()), (None, vec![]));
        assert_eq!(store.devices().unwrap(), [device(11, 2)]);
    });
}

#[test]
fn whoever_was_made_unknown_or_removed_while_their_pin_was_looked_at_does_not_come_back() {
    every_store(|open| {
        let store = open();
        for one in [person(1, "M.", Role::Owner), person(2, "T.", Role::Helper)] {
            store.put_person(&one).unwrap();
        }
        let known = |n: u8| SignIn { must_be_known: true, ..signing_in(device(10, 2), n) };
        assert_eq!(store.sign_in(&known(1)).unwrap(), SignedIn::Gone);
        store.sign_in(&signing_in(device(10, 2), 1)).unwrap();
        assert_eq!(store.sign_in(&known(2)).unwrap(), SignedIn::Done);
        store.revoke(id(10)).unwrap();
        assert_eq!((store.sign_in(&known(3)).unwrap(), store.devices().unwrap()), (SignedIn::Gone, vec![]));
        // By a code, with what was read of them before they were removed.
        assert!(store.remove(id(2), 500).unwrap() && !store.remove(id(2), 501).unwrap());
        let back = SignIn { person: Some(person(2, "T.", Role::Helper)), ..signing_in(device(11, 2), 4) };
        assert_eq!((store.sign_in(&back).unwrap(), store.devices().unwrap()), (SignedIn::Gone, vec![]));
        assert_eq!(store.people().unwrap()[1].removed_s, Some(500));
        // The last owner stays, whoever asks.
        assert!(!store.remove(id(1), 502).unwrap());
        store.put_person(&person(3, "K.", Role::Owner)).unwrap();
        assert!(store.remove(id(1), 503).unwrap() && !store.remove(id(3), 504).unwrap());
    });
}

#[test]
fn a_code_is_used_once_and_with_it_goes_all_or_nothing() {
    every_store(|open| {
        let store = open();
        let first = code(1, Grant::FirstOwner);
        store.put_code(&first).unwrap();
        drop(store);
        let store = open();
        assert_eq!(store.code(first.hash).unwrap(), Some(first));
        let claims =
            |n: u64, of: u8| SignIn { code: Some(first.hash), person: Some(person(n, "M.", Role::Owner)), ..signing_in(device(n, n), of) };
        store.put_person(&person(7, "M.", Role::Helper)).unwrap();
        assert_eq!(store.sign_in(&claims(1, 1)).unwrap(), SignedIn::NameTaken);
        assert_eq!((store.code(first.hash).unwrap(), store.devices().unwrap()), (Some(first), vec![]));
        store.put_person(&person(7, "T.", Role::Helper)).unwrap();
        assert_eq!(store.sign_in(&claims(1, 1)).unwrap(), SignedIn::Done);
        assert_eq!(store.sign_in(&claims(2, 2)).unwrap(), SignedIn::CodeGone);
        assert_eq!((store.code(first.hash).unwrap(), store.devices().unwrap()), (None, vec![device(1, 1)]));
        assert_eq!(store.people().unwrap(), [person(1, "M.", Role::Owner), person(7, "T.", Role::Helper)]);
    });
}

#[test]
fn many_who_use_a_code_at_once_are_one() {
    every_store(|open| {
        let store = open();
        let first = code(1, Grant::FirstOwner);
        store.put_code(&first).unwrap();
        let done = AtomicU32::new(0);
        std::thread::scope(|scope| {
            for n in 1..=8_u8 {
                let (store, done) = (&store, &done);
                scope.spawn(move || {
                    let owner = person(u64::from(n), &format!("M{n}"), Role::Owner);
                    let claim = SignIn { code: Some(first.hash), person: Some(owner), ..signing_in(device(u64::from(n), 1), n) };
                    done.fetch_add(u32::from(store.sign_in(&claim).unwrap() == SignedIn::Done), Ordering::Relaxed);
                });
            }
        });
        assert_eq!((done.into_inner(), store.people().unwrap().len(), store.devices().unwrap().len()), (1, 1, 1));
    });
}

#[test]
fn of_codes_for_the_same_person_the_last_holds() {
    every_store(|open| {
        let store = open();
        let grant = |n: u64, new_secret: bool| Grant::Device { person: id(n), new_secret };
        let codes = [
            code(1, Grant::FirstOwner),
            code(2, Grant::FirstOwner),
            code(3, grant(1, true)),
            code(4, grant(1, false)),
            code(5, grant(2, true)),
        ];
        for code in &codes {
            store.put_code(code).unwrap();
        }
        let kept = codes.map(|code| store.code(code.hash).unwrap());
        assert_eq!(kept, [None, Some(codes[1]), None, Some(codes[3]), Some(codes[4])]);
    });
}

#[test]
fn a_link_shows_its_job_until_it_is_taken_back() {
    every_store(|open| {
        let store = open();
        let [one, two] = [(20, LinkDays::One), (21, LinkDays::Thirty)].map(|(n, lasts)| Link::made(id(n), id(1), lasts, 7));
        store.put_link(&one, token(1)).unwrap();
        store.put_link(&two, token(2)).unwrap();
        store.withdraw(id(20)).unwrap();
        drop(store);
        let store = open();
        let one = Link { is_withdrawn: true, ..one };
        assert_eq!((store.link(token(1)).unwrap(), store.link(token(2)).unwrap()), (Some(one), Some(two)));
        assert_eq!((store.link(token(3)).unwrap(), store.links().unwrap()), (None, vec![one, two]));
    });
}

#[test]
fn neither_a_code_nor_what_a_device_or_a_link_is_known_by_stands_in_the_files() {
    let folder = tempfile::tempdir().unwrap();
    let store = Sqlite::open(folder.path()).unwrap();
    let (code, own) = (Code::of(&[9; 32]), Token::of([3; 32]));
    store.put_code(&code.kept(Grant::FirstOwner, 0)).unwrap();
    store.sign_in(&SignIn { token: own.hash(), ..signing_in(device(1, 1), 1) }).unwrap();
    store.put_link(&Link::made(id(2), id(1), LinkDays::One, 0), own.hash()).unwrap();
    let mut found = 0;
    for file in std::fs::read_dir(folder.path()).unwrap().flatten().filter(|file| file.path().is_file()) {
        let bytes = std::fs::read(file.path()).unwrap();
        let holds = |text: &[u8]| bytes.windows(text.len()).any(|window| window == text);
        found += usize::from(holds(own.hash().to_string().as_bytes()));
        let bare = code.text().replace('-', "");
        assert!(![own.text().as_bytes(), &[3; 32], code.text().as_bytes(), bare.as_bytes()].into_iter().any(holds), "{:?}", file.path());
    }
    assert!(found > 0, "the hash is in none of them: too little was looked at");
}
