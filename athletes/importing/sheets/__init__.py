"""PURE: from the bytes of anyone's spreadsheet to results of named athletes. Knows neither Django nor any model."""
