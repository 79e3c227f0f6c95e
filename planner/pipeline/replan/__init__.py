"""Plans that go on from earlier ones."""
