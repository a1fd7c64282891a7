-- The first store. Never change a migration that was released; add the next number.
CREATE TABLE members (
  id INTEGER NOT NULL,
  slug TEXT NOT NULL,
  name TEXT NOT NULL,
  PRIMARY KEY (id),
  UNIQUE (slug)
);
CREATE TABLE settings (
  "key" TEXT NOT NULL,
  value TEXT NOT NULL,
  PRIMARY KEY ("key")
);
CREATE TABLE wordings (
  id INTEGER NOT NULL,
  item TEXT NOT NULL,
  region TEXT NOT NULL,
  kind TEXT NOT NULL,
  title TEXT NOT NULL,
  expected TEXT NOT NULL,
  line TEXT NOT NULL,
  required INTEGER NOT NULL,
  PRIMARY KEY (id),
  UNIQUE (item, region, kind, title, expected, line, required)
);
CREATE TABLE birds (
  id INTEGER NOT NULL,
  member_id INTEGER NOT NULL,
  bird TEXT NOT NULL,
  name TEXT NOT NULL,
  card TEXT NOT NULL,
  breed TEXT NOT NULL,
  PRIMARY KEY (id),
  UNIQUE (member_id, bird, name, card, breed),
  FOREIGN KEY(member_id) REFERENCES members (id) ON DELETE CASCADE
);
CREATE TABLE sessions (
  id INTEGER NOT NULL,
  member_id INTEGER NOT NULL,
  bird_id INTEGER NOT NULL,
  kind TEXT NOT NULL,
  at TEXT NOT NULL,
  route TEXT NOT NULL,
  file TEXT NOT NULL,
  seconds REAL NOT NULL,
  timed INTEGER NOT NULL,
  listener TEXT NOT NULL,
  digest TEXT NOT NULL,
  PRIMARY KEY (id),
  UNIQUE (member_id, digest),
  FOREIGN KEY(member_id) REFERENCES members (id) ON DELETE CASCADE,
  FOREIGN KEY(bird_id) REFERENCES birds (id) ON DELETE CASCADE
);
CREATE INDEX sessions_by_bird ON sessions (bird_id);
CREATE INDEX sessions_by_member ON sessions (member_id, at);
CREATE TABLE answers (
  session_id INTEGER NOT NULL,
  place INTEGER NOT NULL,
  question TEXT NOT NULL,
  topic TEXT NOT NULL,
  level TEXT NOT NULL,
  share REAL NOT NULL,
  covered TEXT NOT NULL,
  missed TEXT NOT NULL,
  wrong TEXT NOT NULL,
  first_word_s REAL,
  seconds REAL,
  PRIMARY KEY (session_id, place),
  FOREIGN KEY(session_id) REFERENCES sessions (id) ON DELETE CASCADE
) WITHOUT ROWID;
CREATE TABLE delivery (
  session_id INTEGER NOT NULL,
  words_per_minute REAL,
  fillers INTEGER NOT NULL,
  long_pauses INTEGER NOT NULL,
  speaking_s REAL NOT NULL,
  PRIMARY KEY (session_id),
  FOREIGN KEY(session_id) REFERENCES sessions (id) ON DELETE CASCADE
);
CREATE TABLE overrulings (
  id INTEGER NOT NULL,
  session_id INTEGER NOT NULL,
  item TEXT NOT NULL,
  about TEXT NOT NULL,
  was TEXT NOT NULL,
  now TEXT NOT NULL,
  PRIMARY KEY (id),
  FOREIGN KEY(session_id) REFERENCES sessions (id) ON DELETE CASCADE
);
CREATE INDEX overrulings_by_session ON overrulings (session_id);
CREATE TABLE region_times (
  session_id INTEGER NOT NULL,
  place INTEGER NOT NULL,
  region TEXT NOT NULL,
  title TEXT NOT NULL,
  seconds REAL NOT NULL,
  status TEXT NOT NULL,
  n_told INTEGER NOT NULL,
  n_required INTEGER NOT NULL,
  out_of_order INTEGER NOT NULL,
  PRIMARY KEY (session_id, place),
  FOREIGN KEY(session_id) REFERENCES sessions (id) ON DELETE CASCADE
) WITHOUT ROWID;
CREATE TABLE verdicts (
  session_id INTEGER NOT NULL,
  place INTEGER NOT NULL,
  wording_id INTEGER NOT NULL,
  status TEXT NOT NULL,
  heard TEXT,
  start_s REAL,
  mended INTEGER NOT NULL,
  PRIMARY KEY (session_id, place),
  FOREIGN KEY(session_id) REFERENCES sessions (id) ON DELETE CASCADE,
  FOREIGN KEY(wording_id) REFERENCES wordings (id)
) WITHOUT ROWID;
CREATE INDEX verdicts_by_wording ON verdicts (wording_id);
