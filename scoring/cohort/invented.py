"""How invented sittings are known, so that they never pass for real ones."""

INVENTED = "sample-"
"""The ids of invented sittings begin so, and those of no other."""
