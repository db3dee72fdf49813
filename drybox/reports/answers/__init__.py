"""What each command says: a file a command makes its result an `Answer`."""
