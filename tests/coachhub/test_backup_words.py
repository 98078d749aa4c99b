from django.conf import settings
from django.core.management import call_command


def test_backup_names_the_file_of_the_secret_key_where_it_really_lies(furnished, tmp_path, capsys):
    call_command("backup", str(tmp_path / "gym.zip"))
    assert str(settings.DATA_DIR / "secret_key") in capsys.readouterr().out
