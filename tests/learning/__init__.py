"""Tests of advisor.learning."""
