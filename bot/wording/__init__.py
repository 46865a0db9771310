"""Facts become words for one language and one manner."""
