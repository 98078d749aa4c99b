"""API tokens were kept as they are; now only their keyed digest is, and each goes on working."""

from django.db import migrations
from django.utils.crypto import salted_hmac


def hash_tokens(apps, schema_editor):
    tokens = apps.get_model("authtoken", "Token").objects
    for key in list(tokens.values_list("key", flat=True)):
        # As athletes.accounts.tokens does it at this version.
        tokens.filter(key=key).update(key=salted_hmac("api-token", key, algorithm="sha256").hexdigest()[:40])


class Migration(migrations.Migration):
    dependencies = [
        ("athletes", "0022_second_step_required"),
        ("authtoken", "0004_alter_tokenproxy_options"),
    ]

    operations = [migrations.RunPython(hash_tokens, migrations.RunPython.noop)]
