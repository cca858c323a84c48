"""The command `sinkside`: where the parts of the kit are put together."""
