//! What is true of the whole workspace.

#[cfg(test)]
mod architecture;
#[cfg(test)]
mod findings;
#[cfg(test)]
#[cfg(target_os = "linux")]
mod fuzzed;
#[cfg(test)]
mod licences;
#[cfg(test)]
mod limits;
#[cfg(test)]
mod photographs;
#[cfg(test)]
mod pure_rooms;
#[cfg(test)]
mod taken;
#[cfg(test)]
mod tree;
#[cfg(test)]
mod trial;
