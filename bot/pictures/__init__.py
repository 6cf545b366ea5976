"""Pictures: values in, bytes out. The words on them are the caller's, because only the caller knows who looks."""
