//! Loops compiled for the widest vectors that the machine has.

/// Defines a function whose body is compiled once for each kind of vector instructions; a call picks the machine's.
///
/// A plain closure handed to the dispatcher won't do: the compiler need not put it into the code compiled for wide vectors, and then each
/// fused multiply-add becomes a call. The body must do its work in loops, and call only what is `#[inline(always)]`.
macro_rules! wide {
    ($(#[$meta:meta])* fn $name:ident<$life:lifetime>($($arg:ident: $ty:ty),* $(,)?) -> $out:ty $body:block) => {
        $(#[$meta])*
        fn $name<$life>($($arg: $ty),*) -> $out {
            struct Work<$life> {
                $($arg: $ty),*
            }
            impl<$life> pulp::WithSimd for Work<$life> {
                type Output = $out;

                #[inline(always)]
                fn with_simd<S: pulp::Simd>(self, _: S) -> $out {
                    let Self { $($arg),* } = self;
                    $body
                }
            }
            pulp::Arch::new().dispatch(Work { $($arg),* })
        }
    };
}

pub(crate) use wide;
