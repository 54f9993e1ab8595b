"""The open device protocol, without sockets, for both roles."""
