//! `lastmicron people`: who may use the app, and a code for whoever has lost their device.

use std::io::Write;

use jiff::Timestamp;
use lastmicron_access::{Code, Grant, Person};
use lastmicron_store::{People, Sqlite};

use crate::arguments::PeopleArguments;
use crate::failure::Failure;
use crate::serve::{folder, random};
use crate::wording::typed;

pub(crate) fn run(arguments: &PeopleArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let store = Sqlite::open_for_people(&folder(arguments.data.as_deref())?).map_err(|error| Failure::of_store(&error))?;
    let here: Vec<Person> = store.people().map_err(|error| Failure::of_store(&error))?.into_iter().filter(Person::is_here).collect();
    if here.is_empty() {
        writeln!(out, "Nobody has claimed the app: {} prints the code that makes its owner.", typed("serve", arguments.data.as_deref()))?;
        return Ok(());
    }
    let Some(name) = &arguments.code else {
        for person in here {
            writeln!(out, "{:<8}  {}", person.role.to_string(), person.name)?;
        }
        return Ok(());
    };
    let person = here.iter().find(|person| person.is_called(name)).ok_or_else(|| {
        Failure::bad_input(format!("{name}: nobody here is called so: see {}", typed("people", arguments.data.as_deref())))
    })?;
    let random = random().ok_or_else(|| Failure::failed("the system gives no random numbers"))?;
    let code = Code::of(&random);
    store
        .put_code(&code.kept(Grant::Device { person: person.id, new_secret: true }, Timestamp::now().as_second()))
        .map_err(|error| Failure::of_store(&error))?;
    writeln!(out, "{} makes a device known for {}, once, within half an hour: type it in the app at /enter.", code.text(), person.name)?;
    Ok(())
}
