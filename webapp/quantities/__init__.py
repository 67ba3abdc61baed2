"""What a person types or reads, one grammar a kind of value: text in the reader's unit or on a dial, to a typed value and back."""
