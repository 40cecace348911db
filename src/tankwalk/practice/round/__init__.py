"""A round: what it asks, how far it is, the conversation at each stop, and what it keeps."""
