"""The shop sheet and the record on paper."""
