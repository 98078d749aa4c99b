"""A lift that was typed without a unit was read in kilograms: what is kept says so, now that a plain load is read in the
athlete's own unit."""

import re

from django.db import migrations

PLAIN = re.compile(r"^(\d+(?:[.,]\d+)?)\s*[x*×]\s*(\d+)$", re.IGNORECASE)


def say_kilograms(apps, schema_editor):
    efforts = apps.get_model("athletes", "Effort").objects.filter(benchmark__measure="lift")
    changed = []
    for effort in efforts.only("typed").iterator(chunk_size=2000):
        if match := PLAIN.match(effort.typed.strip()):
            effort.typed = f"{match[1]} kg x {match[2]}"
            changed.append(effort)
    apps.get_model("athletes", "Effort").objects.bulk_update(changed, ["typed"], batch_size=500)


class Migration(migrations.Migration):
    dependencies = [("athletes", "0025_import_remark_results")]
    operations = [migrations.RunPython(say_kilograms, migrations.RunPython.noop)]
