"""The form for a code of the second factor."""

from django import forms


class CodeForm(forms.Form):
    """Six digits from the telephone, or a recovery code."""

    code = forms.CharField(
        label="Code",
        max_length=20,
        widget=forms.TextInput(attrs={"autocomplete": "one-time-code", "spellcheck": "false", "autofocus": True}),
    )
