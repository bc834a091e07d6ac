"""A browser without scripts: starts the program, follows links, fills forms in as a person would, and minds what a browser forgives.

Every page that comes through Person is checked: tags closed in their order, each id once, each field labelled, no inline script or style.
"""
import html.parser
import http.client
import os
import re
import subprocess
import tempfile
import urllib.parse

PROGRAM = os.environ["CROSSHATCH"]
VOID = {"meta", "link", "input", "br", "hr", "img", "rect", "line", "circle", "path", "use"}
START_SECONDS = 60  # a loaded machine under a sanitizer


class Server:
    """The program serving one garage file on a free port, until the with block ends."""

    def __init__(self, garage=None, *options):
        self.folder = tempfile.TemporaryDirectory()
        self.garage = garage or os.path.join(self.folder.name, "garage.db")
        self.options = options

    def __enter__(self):
        environment = os.environ | {"XDG_STATE_HOME": os.path.join(self.folder.name, "state")}
        # pylint: disable-next=consider-using-with
        self.process = subprocess.Popen([PROGRAM, "serve", "--garage", self.garage, "--port", "0", *self.options],
                                        stdout=subprocess.PIPE, text=True, env=environment)
        line = self.process.stdout.readline()
        found = re.search(r"http://localhost:(\d+)/", line)
        if found is None:
            self.process.kill()
            raise AssertionError(f"no address in {line!r}, exit status {self.process.wait()}")
        self.port = int(found.group(1))
        return self

    def said(self, pattern):
        """The next line on the terminal that has this in it."""
        while line := self.process.stdout.readline():
            if re.search(pattern, line):
                return line
        raise AssertionError(f"the program never says {pattern}")

    def __exit__(self, *_):
        self.process.terminate()
        status = self.process.wait(START_SECONDS)
        self.process.stdout.close()
        self.folder.cleanup()
        assert status == 0, f"the server ended with {status}"


class Form:
    """A form with what a browser would send of it: lists of (name, value), and what each field is."""

    def __init__(self, attributes):
        self.action = attributes.get("action", "")
        self.method = attributes.get("method", "get").lower()
        self.fields = []  # [name, value, kind, options]
        self.buttons = []  # (name, value, words)
        self.folded = set()  # names of fields that nobody sees before something is opened

    def names(self, *kinds):
        return [name for name, _, kind, _ in self.fields if not kinds or kind in kinds]

    def value(self, name):
        return next(value for own, value, _, _ in self.fields if own == name)

    def options(self, name):
        return next(options for own, _, _, options in self.fields if own == name)

    def filled(self, values, button):
        """What is sent: `values` by name (a list for several boxes), the rest as the page has it, and the button pressed."""
        unknown = set(values) - set(self.names())
        assert not unknown, f"the form {self.action} has no field {unknown}"
        sent = []
        for name, value, kind, _ in self.fields:
            if name not in values:
                sent += [(name, value)] if value is not None else []
            elif kind in ("radio", "checkbox"):
                wanted = values[name] if isinstance(values[name], list) else [values[name]]
                sent += [(name, one) for one in wanted if (name, one) not in sent]
            else:
                sent.append((name, str(values[name])))
        if button is not None:
            known = [(name, value) for name, value, words in self.buttons if button in (value, words)]
            assert known, f"the form {self.action} has no button {button!r}, but {self.buttons}"
            sent += [known[0]] if known[0][0] else []
        elif self.buttons and self.buttons[0][0]:
            sent.append(self.buttons[0][:2])
        return sent


class Page(html.parser.HTMLParser):
    """One answer, taken apart and checked."""

    def __init__(self, path, status, headers, text):
        super().__init__(convert_charrefs=True)
        self.path, self.status, self.headers, self.source = path, status, headers, text
        self.links, self.forms, self.words, self.ids, self.loads = [], [], [], [], []
        self.goes_on = False
        self.open, self.faults, self.labels, self.needs = [], [], set(), []
        self.select = self.area = self.button = None
        self.sections = []  # of the <details> that are open in the source: whether one looks inside
        saved = "content-disposition" in self.headers  # no page of ours, but a file that stands by itself
        if self.headers.get("content-type", "").startswith("text/html") and not saved:
            self.feed(text)
            self.close()
            self.conclude()

    def handle_starttag(self, tag, attrs):
        a = {name: value if value is not None else "" for name, value in attrs}
        self.goes_on = tag == "time"  # a date within a sentence: its words go on
        if tag not in VOID:
            self.open.append(tag)
        if len(a) != len(attrs):
            self.faults.append(f"<{tag}> has an attribute twice")
        for name in a:
            if name.startswith("on") or name == "style":
                self.faults.append(f"<{tag} {name}> works in no page of ours")
        if "id" in a:
            self.ids.append(a["id"])
        if tag == "details":
            self.sections.append("open" in a)
        if a.get("role") == "alert" and False in self.sections:
            self.faults.append("a refusal in a section that is closed")
        if tag == "a" and "href" in a:
            self.links.append(a["href"])
        if tag in ("link", "script", "img"):
            self.loads.append(a.get("href") or a.get("src"))
            if tag == "script" and "src" not in a:
                self.faults.append("a script in the page")
        if tag == "style":
            self.faults.append("a style in the page")
        if tag == "label":
            self.labels.add(a.get("for"))
        self.field(tag, a)

    handle_startendtag = handle_starttag

    def field(self, tag, a):
        if tag == "form":
            self.forms.append(Form(a))
        if tag in ("input", "select", "textarea") and a.get("type") != "hidden" and "label" not in self.open:
            self.needs.append(a.get("id"))
        if not self.forms:
            return
        fields = self.forms[-1].fields
        if tag in ("input", "select", "textarea") and False in self.sections:
            self.forms[-1].folded.add(a.get("name"))
        if tag == "input":
            kind = a.get("type", "text")
            if kind in ("radio", "checkbox"):
                fields.append([a.get("name"), a.get("value", "on") if "checked" in a else None, kind, [a.get("value")]])
            else:
                fields.append([a.get("name"), a.get("value", ""), kind, None])
        elif tag == "select":
            self.select = [a.get("name"), None, "select", []]
            fields.append(self.select)
        elif tag == "option" and self.select is not None:
            self.select[3].append(a.get("value"))
            if self.select[1] is None or "selected" in a:
                self.select[1] = a.get("value")
        elif tag == "textarea":
            self.area = [a.get("name"), "", "textarea", None]
            fields.append(self.area)
        elif tag == "button":
            self.button = [a.get("name"), a.get("value"), ""]

    def handle_data(self, data):
        if self.area is not None:
            self.area[1] += data
        if self.button is not None:
            self.button[2] += data
        if "title" in self.open:
            return
        if self.goes_on and self.words:
            self.words[-1] += data
        else:
            self.words.append(data)
        self.goes_on = False

    def handle_endtag(self, tag):
        self.goes_on = tag == "time"
        if tag in VOID:
            return
        if not self.open or self.open.pop() != tag:
            self.faults.append(f"</{tag}> closes what is not open, at {self.getpos()}")
        if tag == "details":
            self.sections.pop()
        if tag == "select":
            self.select = None
        if tag == "textarea":
            self.area = None
        if tag == "button" and self.button is not None:
            self.forms[-1].buttons.append(tuple(self.button))
            self.button = None

    @property
    def shows_markup(self):
        """Whether a browser would take the answer for a page. A file that it saves and may not take for another kind (CSV) holds what was typed as it was typed."""
        to_save = self.headers.get("content-disposition", "").startswith("attachment") and self.headers.get("x-content-type-options") == "nosniff"
        return self.headers.get("content-type", "").startswith("text/html") or not to_save

    def conclude(self):
        if self.open:
            self.faults.append(f"never closed: {self.open}")
        self.faults += [f"id {one} twice" for one in set(self.ids) if self.ids.count(one) > 1]
        self.faults += [f"a field without a label: {one}" for one in self.needs if one not in self.labels]
        self.faults += [f"a label of nothing: {one}" for one in self.labels if one and one not in self.ids]
        assert not self.faults, (self.path, self.faults)

    @property
    def says(self):
        """The words of the page, blanks as one."""
        return " ".join(" ".join(self.words).split())

    def form(self, action):
        """The form with this action; one that ends with it will do."""
        found = [form for form in self.forms if form.action.endswith(action)]
        assert found, f"no form {action} on {self.path}, but {[form.action for form in self.forms]}"
        return found[0]


class Person:
    """One device: its cookie, and the requests that it makes."""

    def __init__(self, server, address="localhost"):
        self.server = server
        self.address = address
        self.cookie = None
        self.page = None
        self.requests = 0

    def send(self, method, path, body=None, **headers):
        """One request as it is, no redirect followed, nothing checked: (status, headers, bytes)."""
        link = http.client.HTTPConnection(self.address, self.server.port, timeout=START_SECONDS)
        own = {"Cookie": self.cookie} if self.cookie else {}
        if body is not None:
            own["Content-Type"] = "application/x-www-form-urlencoded"
        own |= {name.replace("_", "-"): value for name, value in headers.items() if value is not None}
        own = {name: value for name, value in own.items() if headers.get(name, "") is not None}
        link.request(method, path, body, own)
        answer = link.getresponse()
        content = answer.read()
        named = {name.lower(): value for name, value in answer.getheaders()}
        link.close()
        self.requests += 1
        if "set-cookie" in named and headers.get("Cookie", "") is not None:
            self.cookie = named["set-cookie"].split(";")[0]
        return answer.status, named, content

    def get(self, path, status=200):
        """Go to a page, as by a link."""
        path = urllib.parse.urljoin(self.page.path if self.page else "/", path).split("#")[0]
        return self.arrive(path, *self.send("GET", path), status)

    def submit(self, form, button=None, status=200, **values):
        """Send a form of this page, and arrive where the answer leads."""
        page = self.arrive(form.action, *self.hand_in(form, form.filled(values, button)), status)
        if status == 422:  # what was typed is in sight
            again = [one for one in page.forms if one.action == form.action and set(values) <= set(one.names())]
            assert not again or any(not one.folded & set(values) for one in again), f"{values}: refused, and in a section that is closed"
        return page

    def hand_in(self, form, sent):
        """Send these fields as the form sends them: (status, headers, bytes)."""
        body = urllib.parse.urlencode(sent)
        return self.send("GET", f"{form.action}?{body}") if form.method == "get" else self.send("POST", form.action, body)

    def arrive(self, path, code, headers, content, status):
        turns = 0
        while code == 303:
            turns += 1
            assert turns < 5, f"led around in a circle at {path}"
            path = headers["location"].split("#")[0]
            code, headers, content = self.send("GET", path)
            path = re.sub(r"[?&]saved=1$", "", path)
        picture = headers.get("content-type", "").startswith(("image/", "application/pdf", "application/zip"))
        self.page = Page(path, code, headers, content.decode("latin-1" if picture else "utf-8"))
        assert code == status, (path, code, self.page.says)
        return self.page

    def crawl(self, start="/", limit=2000):
        """Every page that links lead to from `start`, by address. A link that leads nowhere fails."""
        seen, todo = {}, [start]
        while todo:
            path = todo.pop(0)
            if path in seen:
                continue
            self.page = None
            page = seen[path] = self.get(path)
            assert len(seen) < limit, "the pages have no end"
            for link in page.links:
                if link.startswith("#"):
                    assert link[1:] in page.ids, f"{link} on {path} leads nowhere"
                else:
                    todo.append(urllib.parse.urljoin(path, link).split("#")[0])
        return seen
