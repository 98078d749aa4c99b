"""Tables as downloads, written while they are sent."""

from django.http import FileResponse, HttpResponseBase, StreamingHttpResponse

from athletes.exporting.tables import CONTENT_TYPES, Table, csv_pieces, json_pieces, xlsx_file
from athletes.gym.read import today


def download(table: Table, kind: str) -> HttpResponseBase:
    """`table` as a file of a kind in CONTENT_TYPES, named after it and the day."""
    name = f"{table.name}-{today()}.{kind}".replace(" ", "-")
    if kind == "xlsx":
        file = xlsx_file(table.columns, table.rows, table.name)
        return FileResponse(file, as_attachment=True, filename=name, content_type=CONTENT_TYPES[kind])
    pieces = csv_pieces if kind == "csv" else json_pieces
    response = StreamingHttpResponse(pieces(table.columns, table.rows), content_type=CONTENT_TYPES[kind])
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return response
