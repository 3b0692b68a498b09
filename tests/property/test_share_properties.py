import contextlib
import json

from hypothesis import given, settings
from hypothesis import strategies as st

from evenrow import documents, share
from evenrow.errors import InputError

KEYS = st.from_regex(r"[A-Za-z][A-Za-z0-9_-]{0,20}", fullmatch=True).filter(
    lambda key: key not in ("constructor", "prototype")
)
LEAVES = st.one_of(
    st.text(max_size=60),
    st.booleans(),
    st.integers(-documents.MAX_NUMBER, documents.MAX_NUMBER),
    st.floats(-1e9, 1e9),
)
VALUES = st.recursive(
    LEAVES,
    lambda inner: st.one_of(st.lists(inner, max_size=4), st.dictionaries(KEYS, inner, max_size=4)),
    max_leaves=15,
)
DOCUMENTS = st.dictionaries(KEYS, VALUES, max_size=6)


def fits(document):
    try:
        documents.check_shape(document)
    except InputError:
        return False
    return True


@settings(max_examples=200, deadline=None)
@given(DOCUMENTS.filter(fits))
def test_a_link_gives_back_exactly_its_document(document):
    link = share.encode(document)
    assert json.dumps(share.decode(link)) == json.dumps(document)


@settings(max_examples=200, deadline=None)
@given(DOCUMENTS.filter(fits))
def test_a_file_gives_back_exactly_its_document(document):
    document = {"evenrow": 1, **document}
    text = documents.to_toml(document)
    assert documents.from_text(text) == document


WHOLE = share.encode(
    {"evenrow": 1, "name": "Altered", "rows": [{"length": "62 ft", "count": i} for i in range(9)]}
)


@settings(max_examples=300, deadline=None)
@given(at=st.integers(0, len(WHOLE) - 1), put=st.text(max_size=3), cut=st.integers(0, 3))
def test_an_altered_link_is_refused_or_means_the_same(at, put, cut):
    altered = WHOLE[:at] + put + WHOLE[at + cut :]
    # A change that survives may only be one of spelling: the check sum sees the rest.
    with contextlib.suppress(InputError):
        assert share.decode(altered) == share.decode(WHOLE)


@settings(max_examples=300, deadline=None)
@given(
    st.one_of(st.text(max_size=200), st.text("ABCxyz019-_", max_size=80).map("design=1.".__add__))
)
def test_any_text_gives_a_document_or_an_input_error(text):
    try:
        document = share.decode(text)
    except InputError as error:
        refusal = error
    else:
        documents.check_shape(document)
        return
    assert refusal.field == "link"


@settings(max_examples=300, deadline=None)
@given(
    st.one_of(
        st.text(max_size=200),
        st.binary(max_size=200),
        st.lists(st.sampled_from([*'{}[]=".,:\n#', "a", "1", '"""', "true"]), max_size=40).map(
            "".join
        ),
    )
)
def test_any_file_gives_a_document_or_an_input_error(text):
    try:
        document = documents.from_text(text)
    except InputError as error:
        refusal = error
    else:
        documents.check_shape(document)
        return
    assert refusal.message
