"""What the headings of a column mean, in the languages that a European gym's spreadsheet is met in."""

from enum import StrEnum

from athletes.importing.sheets.names import words_key


class Use(StrEnum):
    """What a column holds. In the wide layout RESULT_OF, REPETITIONS_OF and DAY_OF stand with a benchmark's id, like
    result:7."""

    NOTHING = ""
    NAME = "name"
    FIRST = "first"
    LAST = "last"
    BOARD = "board"
    BORN = "born"
    SEX = "sex"
    MASS = "mass"
    JOINED = "joined"
    BENCHMARK = "benchmark"
    RESULT = "result"
    LOAD = "load"
    UNIT = "unit"
    REPETITIONS = "repetitions"
    DAY = "day"
    VOIDED = "voided"
    RESULT_OF = "result:"
    REPETITIONS_OF = "repetitions:"
    DAY_OF = "day:"


# Headings as people write them, compared word by word; units are taken off before.
ENGLISH = {
    Use.NAME: "name|who|person|athlete|athlete name|full name|member|member name|client|client name|athletes|names",
    Use.FIRST: "first name|first|forename|given name|firstname",
    Use.LAST: "last name|last|surname|family name|lastname",
    Use.BOARD: "board name|board|on the board|name on the board|nickname|nick",
    Use.BORN: "born|date of birth|birth date|birthday|dob|birthdate",
    Use.SEX: "sex|gender|m f|f m",
    Use.MASS: "body mass|mass|weight|body weight|bodyweight|bw|wt|body wt",
    Use.JOINED: "joined|joined on|member since|start date|join date",
    Use.BENCHMARK: "benchmark|what|test|event|exercise|movement|workout|lift|discipline",
    Use.RESULT: "result|results|score|performance|time|value|effort",
    Use.LOAD: "load|lifted|load lifted|weight lifted|bar|bar weight|load used|weight used|kg lifted|lb lifted|1 rm",
    Use.UNIT: "unit|units|uom|unit of load|load unit|weight unit|kg lb|lb kg|kg or lb|kg lbs|lbs kg",
    Use.REPETITIONS: "repetitions|reps|rep|reps done|no of reps",
    Use.DAY: "date|day|test date|date of test|tested|tested on|performed on|performed|when|test day",
    Use.VOIDED: "voided|void",
}
GERMAN = {
    Use.NAME: "Athlet|Athletin|Sportler|Sportlerin|Mitglied|Teilnehmer|Teilnehmerin|Vor- und Nachname",
    Use.FIRST: "Vorname",
    Use.LAST: "Nachname|Familienname|Zuname",
    Use.BOARD: "Spitzname|Rufname",
    Use.BORN: "Geburtsdatum|Geburtstag|geboren|geboren am|geb",
    Use.SEX: "Geschlecht|m w|w m",
    Use.MASS: "Gewicht|Körpergewicht|Körpermasse",
    Use.JOINED: "Mitglied seit|Eintritt|Eintrittsdatum|Beitritt",
    Use.BENCHMARK: "Übung|Disziplin",
    Use.RESULT: "Ergebnis|Ergebnisse|Leistung|Zeit|Wert",
    Use.LOAD: "Last|Lastgewicht",
    Use.UNIT: "Einheit",
    Use.REPETITIONS: "Wiederholungen|Wdh",
    Use.DAY: "Datum|Tag|Testdatum|Testtag|getestet am",
}
FRENCH = {
    Use.NAME: "Nom|Athlète|Membre|Adhérent|Nom complet|Nom et prénom|Prénom et nom",
    Use.FIRST: "Prénom",
    Use.LAST: "Nom de famille",
    Use.BOARD: "Surnom",
    Use.BORN: "Date de naissance|Naissance|Né le|Née le|Né(e) le",
    Use.SEX: "Sexe|Genre",
    Use.MASS: "Poids|Poids de corps|Masse corporelle",
    Use.JOINED: "Membre depuis|Inscrit le|Date d'inscription",
    Use.BENCHMARK: "Exercice|Épreuve",
    Use.RESULT: "Résultat|Résultats|Temps",
    Use.LOAD: "Charge",
    Use.UNIT: "Unité",
    Use.REPETITIONS: "Répétitions",
    Use.DAY: "Date du test|Jour",
}
SPANISH = {
    Use.NAME: "Nombre|Atleta|Deportista|Socio|Socia|Nombre completo|Nombre y apellidos",
    Use.LAST: "Apellido|Apellidos",
    Use.BOARD: "Apodo",
    Use.BORN: "Fecha de nacimiento|Nacimiento|Fecha nacimiento",
    Use.SEX: "Sexo|Género",
    Use.MASS: "Peso|Peso corporal",
    Use.JOINED: "Socio desde|Fecha de alta",
    Use.BENCHMARK: "Ejercicio|Prueba",
    Use.RESULT: "Resultado|Resultados|Marca|Tiempo",
    Use.LOAD: "Carga",
    Use.UNIT: "Unidad",
    Use.REPETITIONS: "Repeticiones",
    Use.DAY: "Fecha|Fecha del test|Fecha de la prueba|Día",
}
PORTUGUESE = {
    Use.NAME: "Nome|Nome completo|Membro|Sócio|Sócia",
    Use.FIRST: "Primeiro nome|Nome próprio",
    Use.LAST: "Sobrenome|Último nome",
    Use.BOARD: "Alcunha",
    Use.BORN: "Data de nascimento|Nascimento",
    Use.SEX: "Gênero",
    Use.JOINED: "Membro desde|Sócio desde",
    Use.BENCHMARK: "Exercício|Prova|Teste",
    Use.RESULT: "Tempo",
    Use.UNIT: "Unidade",
    Use.REPETITIONS: "Repetições",
    Use.DAY: "Data|Data do teste|Dia",
}
LANGUAGES = (ENGLISH, GERMAN, FRENCH, SPANISH, PORTUGUESE)
# One word for a whole name and, beside a column for the other half of it, for a first or a last name.
HALF_NAMES = frozenset(("name", "nom", "nombre", "nome"))
# A body mass, or beside the name or the repetitions of a lift what was lifted.
WEIGHT = frozenset(("weight", "wt", "mass", "gewicht", "poids", "peso"))


USE_OF = {
    words_key(heading): use
    for language in LANGUAGES
    for use, headings in language.items()
    for heading in headings.split("|")
}
