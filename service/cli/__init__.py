"""The commands of `framing-quotes`, one file each."""
