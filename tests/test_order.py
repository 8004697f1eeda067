"""Orders: options, the orders file, and what their words mean.  Every order is an untrusted text."""

import os
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from preflight import articles
from preflight.errors import PreflightError
from preflight.order import (
    COLUMNS,
    METHODS,
    Order,
    cloth_weight,
    order_from,
    print_area,
    read_orders,
    tags_of,
    unknown_material,
    unknown_words,
    vocabulary,
    words_tagged,
)

# ------------------------------------------------------------------------------------------------ words -> tags


@pytest.mark.parametrize(
    "item, material, there, not_there",
    [
        ("T-shirts", "cotton", "textile garment light-cloth substance-known", "flat-goods hard"),
        ("Navy baseball caps", "", "textile cap cap-front", "garment"),
        ("polo shirt", "polyester", "textile garment dye-bleed", ""),
        ("mug", "", "flat-goods round hard ceramic", "textile metal"),
        ("travel mug", "stainless steel", "metal round", "ceramic textile"),
        ("ballpoint pen", "", "pen round hard", "substance-known metal"),
        ("pens", "bamboo", "wood pen no-yag", "textile"),
        ("bag", "", "textile bag made-up", "flat-goods"),
        ("bag", "paper", "paper flat-goods made-up", "textile"),
        ("notebook", "faux leather", "faux-leather maybe-laser no-thread notebook", "leather never-laser"),
        ("notebook", "vegetable-tanned leather", "leather", "maybe-laser never-laser"),
        ("key fob", "soft PVC", "pvc never-laser plastic", ""),
        ("key fob", "PVC-free rubber", "low-energy", "pvc never-laser"),
        ("jacket", "unlined", "textile garment", "padded"),
        ("quilted jacket", "nylon", "padded heat-tender no-thread", "flat-goods"),
        ("panel", "aluminum", "metal no-co2", "no-yag"),
        ("panel", "anodized aluminum", "metal", "no-co2"),
        ("beanie", "acrylic", "textile heat-careful", "hard plastic"),
        ("tile", "acrylic", "plastic hard", "textile"),
        ("panel", "powder coated steel", "metal maybe-laser", "never-laser"),
        ("panel", "carbon fiber", "never-laser", ""),
        ("lanyard", "sublimation-dyed polyester", "sublimated dye-bleed", ""),
        ("bottle cap", "", "hard", "cap textile"),
        ("wine glass", "", "glass clear round no-yag", "textile"),
        ("kite", "ripstop nylon", "textile heat-tender", "hard"),
        ("5-panel cap", "cotton twill", "textile cap", "hard flat-goods"),
        ("leather key fob", "", "leather key-ring", "hard"),
        ("key fob", "leather and steel", "leather metal hard", ""),
        ("silicone wristband", "", "low-energy plastic", "textile"),
        ("wooden box", "MDF", "wood hard", "textile"),
        ("delta kite", "ripstop polyester", "textile made-up", "hard"),
    ],
)
def test_words_mean_what_a_workshop_means_by_them(item, material, there, not_there):
    tags = order_from({"item": item, "material": material}).tags
    assert set(there.split()) <= tags
    assert not set(not_there.split()) & tags
    assert unknown_words(order_from({"item": item, "material": material})) == ()


@pytest.mark.parametrize(
    "one, many",
    [
        ("mug", "mugs"),
        ("brass", "brass"),
        ("glass", "glasses"),
        ("box", "boxes"),
        ("diary", "diaries"),
        ("patch", "patches"),
    ],
)
def test_plurals_are_understood(one, many):
    assert order_from({"item": one}).tags == order_from({"item": many}).tags != frozenset()


@pytest.mark.parametrize(
    "british, american",
    [
        ("aluminium", "aluminum"),
        ("carbon fibre", "Carbon Fiber"),
        ("towelling", "toweling"),
        ("microfibre", "microfiber"),
    ],
)
def test_american_spellings_are_understood(british, american):
    assert order_from({"material": british}).tags == order_from({"material": american}).tags != frozenset()


def test_unknown_words_are_kept_for_the_question_and_safe_to_print():
    order = order_from({"item": "glorble", "material": "zint\x1b[31m and cotton"})
    assert unknown_words(order) == ("glorble", "zint")
    assert unknown_words(order_from({"item": "glorble hoodie", "material": "cotton"})) == ()
    assert order.unknown_words == unknown_words(order) and unknown_material(order) == ("zint",)
    assert all(ord(char) >= 32 for word in unknown_words(order) for char in word)


def test_a_material_that_names_no_substance_is_unknown():
    assert unknown_material(order_from({"material": "recycled"})) == ("recycled",)
    assert unknown_material(order_from({"material": "recycled cotton"})) == ()
    assert unknown_material(order_from({"item": "steel panel", "material": "brushed"})) == ()


def test_the_words_behind_a_tag_are_the_orderers_own():
    order = order_from({"item": "Key fob", "material": "Soft PVC"})
    assert words_tagged(order, "never-laser") == ("Soft PVC",)
    assert words_tagged(order_from({"item": "bag", "material": "paper"}), "textile") == ()
    assert words_tagged(order_from({"item": "bag"}), "textile") == ("bag",)


@pytest.mark.parametrize(
    "ground, tags",
    [
        ("navy", {"dark-ground", "coloured-ground"}),
        ("white", set()),
        ("#ffff00", {"coloured-ground"}),
        ("black", {"dark-ground", "coloured-ground"}),
        ("clear", {"clear"}),
        ("", set()),
    ],  # fmt: skip
)
def test_the_ground_has_tags(ground, tags):
    order = order_from({"ground": ground})
    assert order.tags & {"dark-ground", "coloured-ground", "clear"} == tags
    assert (order.ground is None) == (ground in ("clear", ""))


def test_the_position_decides_the_area():
    order = {"item": "t-shirt", "material": "cotton"}
    chest = print_area(order_from(order | {"position": "left chest, below the collar"}))
    assert (chest.width_mm, chest.height_mm, chest.turns) == (100, 100, False)
    assert "left chest" in chest.words
    assert print_area(order_from(order)) is None
    assert print_area(order_from({"item": "cap"})).height_mm == 54
    assert print_area(order_from({"item": "pen"})).turns


@pytest.mark.parametrize(
    "material, weight",
    [
        ("cotton 180 g/m2", 180),
        ("180 gsm cotton", 180),
        ("cotton, 145 g/m²", 145),
        ("cotton 7 oz", 237.3),
        ("cotton", None),
        ("steel 7 oz", None),
        ("cotton 1180x20", None),
    ],  # fmt: skip
)
def test_the_weight_of_the_cloth(material, weight):
    """7 oz a square yard is 237 g/m² (the handbook's own conversion)."""
    found = cloth_weight(order_from({"material": material}))
    assert found == (weight and pytest.approx(weight, abs=0.5))


def test_the_word_lists_hold_what_a_workshop_meets():
    lists = vocabulary()
    assert len(lists.things) >= 120
    for name, tags in lists.things.items():
        assert all(tag == tag.strip().lower() and " " not in tag for tag in tags), name


@pytest.mark.parametrize(
    "text, message",
    [
        ('[[thing]]\nwords = ["mug"]', "needs tags, words"),
        ('[[thing]]\nwords = ["mug"]\ntags = []\ncolour = 1', "colour"),
        ("[thingy]", "thingy"),
        ('[[thing]]\nwords = ["mug"]\ntags = ["a"]\n[[thing]]\nwords = ["mugs"]\ntags = ["b"]', "two lists"),
        ('[[area]]\non = ["cap"]\nsize = "11 cm"\ncalled = "cap"', "110 x 54 mm"),
        ('[[thing]]\nwords = ["a b c d e f g"]\ntags = []', "one to"),
        ("[[thing]\n", "line 1"),
    ],
)
def test_a_damaged_word_list_says_where(text, message):
    with pytest.raises(PreflightError, match=message):
        articles.read(text)


# ------------------------------------------------------------------------------------------------ options


def test_a_full_order():
    order = order_from(
        {
            "method": "Screen print", "width": "8cm", "height": 40, "item": "hoodie", "position": "sleeve", "ground": "#FFF",
            "material": "cotton", "colours": "marsh red; navy", "quantity": "25", "diameter": "3.15in", "page": "2",
            "customer": "Kite fair", "job": "K-7", "accepted": "gradient, screen-print/trap-cloth",
        }
    )  # fmt: skip
    assert order.method == "screen-print" and order.page == 2 and order.quantity == 25
    assert (
        order.width_mm == pytest.approx(80)
        and order.height_mm == 40
        and order.diameter_mm == pytest.approx(80.01)
    )
    assert order.ground == "#ffffff" and order.colours == ("marsh red", "navy")
    assert order.accepted == ("gradient", "screen-print/trap-cloth")
    assert {"inks-named", "page-stated", "sleeve", "hoodie"} <= order.tags


def test_names_of_columns_and_of_options_both_serve():
    assert order_from({"width_mm": "80", "diameter_mm": "70"}) == order_from(
        {"width": "80", "diameter": "70"}
    )


def test_nothing_said_is_nothing_assumed():
    order = order_from({"method": None, "width": "", "colours": ""})
    assert order == Order(tags=tags_of(Order()))


@pytest.mark.parametrize(
    "options, message",
    [
        ({"method": "embroidry"}, "did you mean “embroidery”"),
        ({"method": "zzz"}, "choose from screen-print"),
        ({"ground": "blurple"}, "no colour we know"),
        ({"width": "0"}, "width:"),
        ({"width": "-5"}, "width:"),
        ({"width": "80 ppi"}, "width:"),
        ({"width": "1e3"}, "width:"),
        ({"height": "999999m"}, "height:"),
        ({"width": float("nan")}, "width:"),
        ({"quantity": "12.5"}, "whole number"),
        ({"quantity": "0"}, "whole number"),
        ({"quantity": "٣"}, "whole number"),
        ({"page": "0"}, "whole number"),
        ({"accepted": "gradint"}, "did you mean “gradient”"),
        ({"item": "x" * 500}, "500 letters"),
        ({"colours": ",".join(f"c{n}" for n in range(99))}, "at most 64"),
        ({"colour": "red"}, "did you mean “colours”"),
    ],
)
def test_what_cannot_be_used_is_said_in_one_plain_line(options, message):
    with pytest.raises(PreflightError, match=message) as error:
        order_from(options)
    assert "\n" not in str(error.value) and "\x1b" not in str(error.value)


def test_a_chart_names_grounds():
    class Entry:
        hex = "#123456"

    class Chart:
        def find(self, words):
            return Entry() if words.lower() == "harbour blue" else None

    order = order_from({"ground": "Harbour Blue"}, charts=[Chart()])
    assert order.ground == "#123456" and "chart" in order.tags


hostile = st.one_of(st.text(max_size=400), st.integers(), st.floats(), st.none())


@given(st.dictionaries(st.sampled_from([*COLUMNS[1:], "width"]), hostile))
@settings(max_examples=150, deadline=None)
def test_any_options_give_an_order_or_one_plain_line(options):
    try:
        order = order_from(options)
    except PreflightError as error:
        assert "\n" not in str(error) and "\x1b" not in str(error) and len(str(error)) < 1500
    else:
        for text in (
            order.item,
            order.position,
            order.material,
            order.customer,
            order.job,
            order.ground_words,
            *order.colours,
        ):
            assert "\n" not in text and "\x1b" not in text and "\u202e" not in text
        assert order.method in ("", *METHODS)


# ------------------------------------------------------------------------------------------------ orders file


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "kite.svg").write_text("<svg/>")
    (tmp_path / "sub").mkdir()
    (tmp_path / "sub" / "tail.svg").write_text("<svg/>")
    return tmp_path


@pytest.mark.parametrize("mark", ["", "\ufeff"])
@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_encodings_delimiters_and_line_ends(folder, mark, delimiter, end):
    rows = [
        ("item", "file", "method", "width_mm"),
        ("cap", "kite.svg", "embroidery", "80"),
        ("", "sub/tail.svg", "foil", ""),
    ]
    path = folder / "orders.csv"
    path.write_bytes((mark + end.join(delimiter.join(row) for row in rows) + end).encode())
    first, second = read_orders(path, folder)
    assert (first.line, first.order.method, first.order.width_mm) == (2, "embroidery", 80)
    assert first.path == (folder / "kite.svg").resolve() and "cap" in first.order.tags and not first.error
    assert (second.line, second.order.width_mm, second.file) == (3, None, "sub/tail.svg")
    assert second.said == {"file": "sub/tail.svg", "method": "foil"}


def test_a_bad_row_still_says_whose_job_it_is(folder):
    (row,) = read_orders("job,customer,file,method\nF16,Kite\u202e Fair,never-arrived.pdf,foil\n", folder)
    assert row.path is None and "no such file" in row.error
    assert (row.order.job, row.order.customer, row.order.method) == ("F16", "Kite Fair", "foil")
    assert row.said == {"job": "F16", "customer": "Kite Fair", "file": "never-arrived.pdf", "method": "foil"}


def test_a_decimal_comma_where_it_is_not_the_separator(folder):
    (row,) = read_orders("file;method;width_mm\nkite.svg;foil;80,5\n", folder)
    assert row.order.width_mm == 80.5
    (row,) = read_orders('file,method,width_mm\nkite.svg,foil,"80,5"\n', folder)
    assert "write “80.5” with a point" in row.error


def test_a_bad_row_is_reported_with_its_line_and_stops_no_other(folder):
    text = (
        "file,method,width_mm,ground\n"
        "kite.svg,embroidery,80,navy\n"
        "kite.svg,embroidry,80,navy\n"
        "\n"
        'kite.svg,"embroidery,80,navy\n'
        "kite.svg,embroidery,abc,navy\n"
        "gone.svg,embroidery,80,navy\n"
        "kite.svg,embroidery,80,blurple\n"
        "kite.svg,embroidery,80,navy,surplus\n"
        "kite.svg,,80,navy\n"
        "kite.svg,pad-print,40,navy\n"
    )
    rows = read_orders(text, folder)
    assert [row.line for row in rows] == [2, 3, 5, 6, 7, 8, 9, 10, 11]
    assert [bool(row.error) for row in rows] == [False, True, True, True, True, True, True, True, False]
    words = {
        3: "embroidery”?",
        5: "quotation mark",
        6: "width",
        7: "no such file",
        8: "blurple",
        9: "5 cells",
        10: "method is missing",
    }
    for row in rows:
        if row.error:
            assert row.error.startswith(f"line {row.line}: ") and words[row.line] in row.error
            assert row.path is None and (row.order is None) == ("no such file" not in row.error)


def test_defaults_hold_where_a_row_says_nothing(folder):
    first, second = read_orders(
        "file,width_mm\nkite.svg,\nkite.svg,50\n", folder, defaults={"method": "foil", "width": "80"}
    )
    assert (first.order.method, first.order.width_mm, second.order.width_mm) == ("foil", 80, 50)


@pytest.mark.parametrize(
    "text, message",
    [
        ("", "empty"),
        (",,\n", "empty"),
        ("file,methd\nkite.svg,foil\n", "did you mean “method”"),
        ("file,width_mm\nkite.svg,8\n", "“method” is missing"),
        ("method,width_mm\nfoil,8\n", "“file” is missing"),
        ("file,method,file\n", "twice"),
        ("file,method,colors\n", "did you mean “colours”"),
        ('"file,method\n', "cannot be read"),
        ("file,method\n" + "kite.svg,foil\n" * 20_001, "more than 20000 rows"),
    ],
)
def test_a_header_that_cannot_be_used_stops_the_command(folder, text, message):
    with pytest.raises(PreflightError, match=message):
        read_orders(text, folder)


@pytest.mark.parametrize(
    "data, message",
    [
        (b"file,method\n\xff\xfe,foil\n", "line 2"),
        ("file,method\n".encode("utf-16"), "UTF-16"),
        (b"x" * 16_000_001, "larger than"),
    ],
)
def test_an_encoding_that_cannot_be_read_stops_the_command(folder, data, message):
    path = folder / "orders.csv"
    path.write_bytes(data)
    with pytest.raises(PreflightError, match=message):
        read_orders(path, folder)


def test_a_missing_orders_file_stops_the_command(folder):
    with pytest.raises(PreflightError, match="cannot be read"):
        read_orders(folder / "gone.csv", folder)


@pytest.mark.parametrize(
    "name",
    [
        "../secret.svg",
        "sub/../../secret.svg",
        "/etc/hostname",
        "C:\\art.svg",
        "C:art.svg",
        "\\\\host\\share\\a.svg",
        "..\\secret.svg",
        "link.svg",
        "linked/secret.svg",
        "a\x00b.svg",
        "",
        ".",
        "sub/..",
        "~/secret.svg",
        "kite.svg/../../secret.svg",
        "sub/../kite.svg",
        "a\x1bb.svg",
    ],  # fmt: skip
)
def test_no_file_leaves_the_folder(tmp_path, name):
    inbox = tmp_path / "inbox"
    (inbox / "sub").mkdir(parents=True)
    (inbox / "kite.svg").write_text("<svg/>")
    (tmp_path / "secret.svg").write_text("<svg/>")
    (inbox / "link.svg").symlink_to(tmp_path / "secret.svg")
    (inbox / "linked").symlink_to(tmp_path, target_is_directory=True)
    (row,) = read_orders(f'file,method\n"{name}",foil\n', inbox)
    assert row.error and row.path is None and "secret" not in str(row.path)
    assert all(ord(char) >= 32 for char in row.error)


def test_a_link_inside_the_folder_and_windows_separators_serve(folder):
    (folder / "again.svg").symlink_to(folder / "kite.svg")
    rows = read_orders("file,method\nagain.svg,foil\nsub\\tail.svg,foil\n", folder)
    assert rows[0].path == (folder / "kite.svg").resolve() and not rows[0].error
    if os.sep == "/":
        assert rows[1].path == (folder / "sub" / "tail.svg").resolve()


def test_a_folder_is_no_file(folder):
    (row,) = read_orders("file,method\nsub,foil\n", folder)
    assert "no such file" in row.error


def test_a_spreadsheets_first_line_and_empty_columns_are_understood(folder):
    (row,) = read_orders("sep=;\r\nFile;Method;Width mm;;\r\nkite.svg;Foil;80;;\r\n;;;;\r\n", folder)
    assert (row.line, row.order.method, row.order.width_mm) == (3, "foil", 80)


@given(
    text=st.text(
        alphabet=st.sampled_from('file,method;\t"\n\r\\/.=+-kite.svg\x00\x1b\u202eéfoil 80'), max_size=300
    )
)
@settings(max_examples=200, deadline=None)
def test_any_text_gives_rows_or_one_plain_line(text):
    for prefix in ("", "file,method\n"):
        try:
            rows = read_orders(prefix + text, Path("/nonexistent-folder"))
        except PreflightError as error:
            assert "\n" not in str(error) and "\x1b" not in str(error)
        else:
            for row in rows:
                assert (
                    row.error
                    and "\n" not in row.error
                    and "\x1b" not in row.error
                    and "\u202e" not in row.error
                )
