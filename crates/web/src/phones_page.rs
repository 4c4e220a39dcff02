//! How a phone comes to trust this machine: the one page that is told in the open, with the certificate that it is about. Nothing of the app is there.

use std::sync::Arc;

use axum::Router;
use axum::extract::State;
use axum::http::header::{CACHE_CONTROL, CONTENT_DISPOSITION, CONTENT_TYPE, HeaderName, HeaderValue};
use axum::http::{HeaderMap, StatusCode};
use axum::middleware::map_response;
use axum::response::{Html, IntoResponse, Response};
use axum::routing::get;
use maud::html;

use crate::asset::{ICON, STYLE};
use crate::bare;
use crate::policy::HEADERS;

/// Where the certificate is.
const CERTIFICATE: &str = "/workshop.crt";

/// What there is to do on each kind of device, in the order of its screens (common practice, no source: makers move their settings about).
pub const TRUSTED_ON: [(&str, &[&str]); 4] = [
    (
        "iOS",
        &[
            "Open this page in the browser that came with the device, fetch the certificate, and allow the profile to be loaded.",
            "Settings, at the top: Profile Downloaded, then Install.",
            "Settings, General, About, at the very end Certificate Trust Settings: switch it on for the workshop's authority. Without this step nothing is trusted.",
        ],
    ),
    (
        "Android",
        &[
            "Fetch the certificate: it lands among the downloads.",
            "Settings: search for 'CA certificate' (it is under security, encryption and credentials). Choose Install anyway, and the downloaded file.",
            "The device then says that the network may be watched: it can't know that this certificate is for one machine only.",
        ],
    ),
    (
        "Windows",
        &[
            "Fetch the certificate, open it, and press Install Certificate.",
            "Current User, then 'Place all certificates in the following store': Trusted Root Certification Authorities.",
            "Compare the fingerprint before you say yes, and start the browser anew.",
        ],
    ),
    (
        "macOS",
        &[
            "Fetch the certificate and open it: it goes into the login keychain.",
            "In Keychain Access, open it there, and under Trust say Always Trust for Secure Sockets Layer (SSL).",
        ],
    ),
];

/// What a phone is to trust, and what for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Trust {
    /// The certificate of the authority, DER.
    pub certificate: Vec<u8>,
    /// Its fingerprint, as the terminal shows it.
    pub fingerprint: String,
    /// The only name, beside addresses of local networks, that the authority can certify.
    pub host: String,
    /// Addresses at which the app is.
    pub app: Vec<String>,
}

pub(crate) fn router(trust: Trust) -> Router {
    Router::new()
        .route("/", get(page))
        .route(CERTIFICATE, get(certificate))
        .route(&STYLE.path(), get(async || ([(CONTENT_TYPE, STYLE.kind())], STYLE.bytes())))
        .route(&ICON.path(), get(async || ([(CONTENT_TYPE, ICON.kind())], ICON.bytes())))
        .fallback(async || (StatusCode::NOT_FOUND, "There is nothing here but the page at /, and the certificate on it.\n"))
        .with_state(Arc::new(trust))
        .layer(map_response(held))
}

async fn held(mut response: Response) -> Response {
    response.headers_mut().insert(CACHE_CONTROL, HeaderValue::from_static("no-store"));
    for (name, value) in HEADERS {
        response.headers_mut().insert(HeaderName::from_static(name), HeaderValue::from_static(value));
    }
    response
}

/// With the type by which a phone offers to install it (common practice, no source).
async fn certificate(State(trust): State<Arc<Trust>>) -> Response {
    let mut headers = HeaderMap::new();
    headers.insert(CONTENT_TYPE, HeaderValue::from_static("application/x-x509-ca-cert"));
    headers.insert(CONTENT_DISPOSITION, HeaderValue::from_static("attachment; filename=\"workshop.crt\""));
    (headers, trust.certificate.clone()).into_response()
}

async fn page(State(trust): State<Arc<Trust>>) -> Html<String> {
    let shown = html! {
        main {
            h1 { "Let this device trust the workshop's machine" }
            p { "Once for each phone, tablet and laptop. After that the app opens with a lock, can be installed, and opens while the network is away." }
            p {
                "What you install here can vouch for " strong { (trust.host) } " and for addresses of local networks, and for no site of the internet. "
                "It was made on the workshop's own machine; nobody else has it."
            }
            h2 { "1. Fetch the certificate" }
            p { a.primary href=(CERTIFICATE) { "Fetch the certificate" } }
            h2 { "2. Install it, and say that it is trusted" }
            @for (device, steps) in TRUSTED_ON {
                details open {
                    summary { (device) }
                    ol { @for step in steps { li { (step) } } }
                }
            }
            p { "A browser that keeps a list of authorities of its own needs it there, too: look for certificates, authorities, import in its settings." }
            h2 { "3. Compare" }
            p { "This page came in the open: somebody on this network could have changed it. The device shows the certificate's SHA-256 fingerprint among its details. It must be the one in the terminal of the workshop's machine:" }
            p { code { (trust.fingerprint) } }
            p { "If a single pair differs, remove the certificate again." }
            h2 { "4. Open the app" }
            ul { @for address in &trust.app { li { a href=(address) { (address) } } } }
            p { "If the browser still warns, the device doesn't trust the certificate yet: go through step 2 again." }
        }
    };
    bare::page("Trust this workshop's machine", None, &shown)
}
