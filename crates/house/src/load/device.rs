//! A device on one line to the app: HTTP/1.1 (RFC 9112), as much as is needed to ask and to be answered.

use std::io::{self, BufRead as _, BufReader, Read as _, Write as _};
use std::net::TcpStream;

/// A device.
pub(super) struct Device {
    line: BufReader<TcpStream>,
    host: String,
}

impl Device {
    pub(super) fn at(address: &str) -> io::Result<Self> {
        let line = TcpStream::connect(address)?;
        line.set_nodelay(true)?;
        Ok(Self { line: BufReader::new(line), host: address.to_owned() })
    }

    pub(super) fn get(&mut self, path: &str) -> io::Result<Vec<u8>> {
        self.ask(&format!("GET {path} HTTP/1.1\r\nhost: {}\r\n\r\n", self.host))
    }

    pub(super) fn post(&mut self, path: &str, body: &str) -> io::Result<Vec<u8>> {
        self.ask(&format!("POST {path} HTTP/1.1\r\nhost: {}\r\ncontent-length: {}\r\n\r\n{body}", self.host, body.len()))
    }

    fn ask(&mut self, request: &str) -> io::Result<Vec<u8>> {
        self.line.get_mut().write_all(request.as_bytes())?;
        let mut status = String::new();
        self.line.read_line(&mut status)?;
        let mut length = 0;
        loop {
            let mut header = String::new();
            self.line.read_line(&mut header)?;
            if header.trim().is_empty() {
                break;
            }
            if let Some((name, value)) = header.split_once(':')
                && name.eq_ignore_ascii_case("content-length")
            {
                length = value.trim().parse().map_err(io::Error::other)?;
            }
        }
        let mut body = vec![0; length];
        self.line.read_exact(&mut body)?;
        if status.contains(" 200 ") {
            Ok(body)
        } else {
            Err(io::Error::other(format!("{}: {}", status.trim(), String::from_utf8_lossy(&body))))
        }
    }
}
