"""The knowledge base as pages to read and look up: rules, vocabulary and glossary, all generated."""
