"""Panels: one observable stage model, controls and views to compose, the wire to the browser."""
