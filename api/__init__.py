"""The console's HTTP and live interface over a running fleet."""
