-- The index of an audit, format 3 (`user_version`): a cache, made anew where it is older. One row of `examined` for each file; everything else follows from them, and is made
-- anew when an audit comes to its end. Until then it is the answer of the audit before.
CREATE TABLE meta (key TEXT PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID;
-- folder; of the audit that began last fingerprint (of release, trust and checks), verified_at, finished (empty until
-- it came to its end); of the answer answered_at and proof (MAC over folder, answered_at and the rows of all tables but these)

CREATE TABLE examined (           -- what was found in each file, as an audit takes it over from one before
    path TEXT PRIMARY KEY,        -- relative to the folder, with /, on one line of visible text
    sha256 TEXT NOT NULL,
    holds_until TEXT,             -- as in `files`
    broke_off INTEGER NOT NULL,   -- as in `files`
    told BLOB NOT NULL,           -- the examination: JSON, deflated
    mac BLOB NOT NULL             -- HMAC-SHA-256 over fingerprint and the row, under a key that the user's state folder holds
) WITHOUT ROWID;

CREATE TABLE files (              -- each place where a content lies: loose, or inside a submittal
    path TEXT PRIMARY KEY,        -- as in `examined`; of what is inside a submittal `file/inside`
    file TEXT NOT NULL,           -- in the folder
    inside TEXT NOT NULL,         -- name inside the submittal `file`, empty for a file that lies loose
    sha256 TEXT NOT NULL,
    size INTEGER NOT NULL,
    kind TEXT NOT NULL,           -- report, slip, submittal, paper, other
    standing TEXT NOT NULL,       -- proven, open (only trust, revocation or time undecided), doubtful, failed
    overall TEXT NOT NULL,        -- passed, failed, indeterminate
    reasons TEXT NOT NULL,        -- JSON: [{"name", "sentence", "code", "facts"}]; the sentence is made of these, where there is a code
    signers TEXT NOT NULL,        -- JSON: [{"kind", "subject", "fingerprint", "claimed_time", "proven_time", "left_sha256",
                                  -- "named": the person of that field in the job, or null}]
    verified_at TEXT NOT NULL,    -- moment for which the verdict holds
    contract TEXT, number TEXT, revision INTEGER,  -- as the file claims, even when it failed
    written TEXT,                 -- the contract as it is written there; `contract` is one spelling for all that are one
    notices TEXT NOT NULL,        -- JSON as in `reasons`: what has changed since it was issued
    holds_until TEXT,             -- when what passed ceases to, as the first certificate ends on which the proof rests
    broke_off INTEGER NOT NULL,   -- 1 where a step was not done through a fault of the machine that examined it
    covered TEXT NOT NULL,        -- SHA-256 of the bytes that the first signature covers; of the file where there is none
    copy_of TEXT                  -- of further copies of what was issued once, the path of the best proven
) WITHOUT ROWID;
CREATE INDEX files_by_covered ON files (covered);
CREATE INDEX files_by_hash ON files (sha256);
CREATE INDEX files_by_number ON files (contract, number, revision);

CREATE TABLE reports (            -- files of kind report that did not fail, each content once
    path TEXT PRIMARY KEY, sha256 TEXT NOT NULL,
    contract TEXT NOT NULL, number TEXT NOT NULL, revision INTEGER NOT NULL, pattern TEXT,
    date TEXT NOT NULL, ordered TEXT NOT NULL,  -- by date, beginning of the shift, and number
    began TEXT NOT NULL, ended TEXT NOT NULL,   -- moments of the shift, in UTC; empty where not known
    site TEXT NOT NULL,
    project TEXT NOT NULL,        -- SHA-256 of its project file, as in `projects`; empty where that cannot be read
    issued_at TEXT NOT NULL, status TEXT NOT NULL, verdict TEXT NOT NULL, inspector TEXT NOT NULL,
    supersedes_revision INTEGER, supersedes_sha256 TEXT, supersedes_reason TEXT,
    day_sha256 TEXT NOT NULL,     -- of the embedded day file
    overall TEXT NOT NULL,        -- passed, indeterminate
    standing TEXT NOT NULL,       -- as in `files`
    holds_until TEXT,             -- as in `files`
    doubts TEXT NOT NULL,         -- names of the reasons why it did not pass, with a space between; COUNTERSIGNER: before those about a later signature
    certificate TEXT NOT NULL, signer TEXT NOT NULL,  -- of the first signature: fingerprint, subject
    hands TEXT NOT NULL,          -- JSON: signer as in the certificate, inspector as in the job, whose signature it awaits, [name, organisation] of who may revise
    hashes TEXT NOT NULL,         -- SHA-256 of the file as each signature left it, with a space between
    place TEXT NOT NULL DEFAULT 'decides',  -- decides, disputed (so does another file), superseded, set aside (less proven),
                                            -- not entitled (a revision by one whom the report revised does not name)
    counts INTEGER NOT NULL DEFAULT 1,      -- 1 where it decides or is disputed
    requirements TEXT NOT NULL,   -- version of what its project file requires, and of whom; empty where that cannot be read
    limits TEXT NOT NULL,         -- version of the limits in it, and of the rules by which they are judged
    document TEXT NOT NULL,       -- that states the limits; empty as above
    unproven INTEGER NOT NULL DEFAULT 0     -- 1 where it did not pass and another of its contract did
) WITHOUT ROWID;
CREATE INDEX reports_by_number ON reports (contract, number, revision);
CREATE INDEX reports_by_day ON reports (day_sha256);

CREATE TABLE requirements (       -- what a version of the requirements says, once for all reports that have it
    version TEXT NOT NULL, part TEXT NOT NULL, member TEXT NOT NULL, value TEXT NOT NULL,
    PRIMARY KEY (version, part, member)
) WITHOUT ROWID;

CREATE TABLE papers (             -- files that are neither reports nor submittals, and never were
    path TEXT PRIMARY KEY, title TEXT NOT NULL, beginning TEXT NOT NULL,  -- of the text
    ours INTEGER NOT NULL,        -- 1 where it says that this program made it
    names TEXT NOT NULL,          -- number of a contract, or of a report of one, that it names; its kind is `other` then
    releases TEXT NOT NULL,       -- contract and area of a release page, which decides nothing; empty of any other
    of_contract TEXT NOT NULL, of_area TEXT NOT NULL, of_number TEXT NOT NULL, of_revision INTEGER,  -- what a release
    of_sha256 TEXT NOT NULL,      -- page says, and of the report that it names,
    of_covered TEXT NOT NULL,     -- and of what the first signature of that covers
    draft TEXT NOT NULL           -- number of the report of which it is a draft, which decides nothing; empty of any other
) WITHOUT ROWID;

CREATE TABLE upon (               -- the row of a register that a report or release slip was issued upon; what fails is not
                                  -- here unless only a register that was given speaks against it
    path TEXT PRIMARY KEY, number TEXT NOT NULL, revision INTEGER NOT NULL,
    area TEXT,                    -- of a release slip
    contract TEXT NOT NULL,       -- of its project file, empty where that is not known
    row INTEGER NOT NULL, sha256 TEXT NOT NULL,  -- 0 where the register was empty
    issue TEXT NOT NULL,          -- JSON: that row, the SHA-256 of the file up to its first signature, and what the row says that it left
    doubted INTEGER NOT NULL      -- 1 where something else than a register is left open about it
) WITHOUT ROWID;

CREATE TABLE left_as (            -- SHA-256 of a report, and of copies of it that have no row of their own, as each signature left it
    path TEXT NOT NULL, sha256 TEXT NOT NULL, PRIMARY KEY (path, sha256)
) WITHOUT ROWID;
CREATE INDEX left_as_by_hash ON left_as (sha256);

CREATE TABLE areas (              -- decision and statistics of each area of each report, in the specification's unit
    path TEXT NOT NULL, area TEXT NOT NULL, structure TEXT NOT NULL, verdict TEXT NOT NULL, decision TEXT NOT NULL,
    unit TEXT NOT NULL, n_locations INTEGER NOT NULL, mean TEXT, standard_deviation TEXT, coated TEXT,
    found TEXT NOT NULL,          -- JSON: [[[apparatus, size cleaned] of each entry], [[location, verdict]], [[failing location,
                                  -- size its walk-outs bound]], [cleaned, size] of a part released, [codes that fail elsewhere]]
    speaks INTEGER NOT NULL,      -- 1 where the report inspected it, or says that it stands bare past its time to coat
    part TEXT NOT NULL,           -- how much of how much is released, where that is not the whole: as `told` in `problems`
    name TEXT NOT NULL, required INTEGER,  -- locations that the sampling requires
    minimum TEXT, maximum TEXT    -- of the profile of its locations
);
CREATE INDEX areas_by_path ON areas (path);

CREATE TABLE nonconformances (    -- as each report that names one left it
    path TEXT NOT NULL, id TEXT NOT NULL, area TEXT, status TEXT NOT NULL, disposition TEXT NOT NULL,
    raised_in TEXT NOT NULL, description TEXT NOT NULL,
    responsible TEXT, due TEXT    -- a date
);
CREATE INDEX nonconformances_by_path ON nonconformances (path);
CREATE INDEX nonconformances_by_id ON nonconformances (id, raised_in);

CREATE TABLE findings (           -- `observed`: as `told` in `problems`
    path TEXT NOT NULL, code TEXT NOT NULL, severity TEXT NOT NULL, area TEXT, observed TEXT NOT NULL
);
CREATE INDEX findings_by_path ON findings (path);
CREATE INDEX findings_by_code ON findings (code, path);

CREATE TABLE earlier (path TEXT NOT NULL, day_sha256 TEXT NOT NULL);   -- day files a report builds upon
CREATE INDEX earlier_by_path ON earlier (path);
CREATE INDEX earlier_by_day ON earlier (day_sha256);

CREATE TABLE enclosed (path TEXT NOT NULL, sha256 TEXT NOT NULL, number TEXT NOT NULL, revision INTEGER NOT NULL);
-- originals inside submittals
CREATE INDEX enclosed_by_path ON enclosed (path);

CREATE TABLE projects (           -- each project file, once for all reports that were issued by it
    sha256 TEXT PRIMARY KEY, contract TEXT NOT NULL, name TEXT NOT NULL, client TEXT NOT NULL, contractor TEXT NOT NULL,
    body TEXT NOT NULL, site TEXT NOT NULL,
    minimum TEXT, maximum TEXT, unit TEXT  -- limits of the profile
) WITHOUT ROWID;

CREATE TABLE planned_areas (      -- areas that a project file lists: what of a contract is to be inspected
    project TEXT NOT NULL, area TEXT NOT NULL, name TEXT NOT NULL, structure TEXT NOT NULL, structure_name TEXT NOT NULL,
    size TEXT NOT NULL, unit TEXT NOT NULL,  -- number and its unit (m2, ft2, m, ft), empty where not stated
    PRIMARY KEY (project, area)
) WITHOUT ROWID;

CREATE TABLE instruments (        -- that a project file lists; empty what it does not state
    project TEXT NOT NULL, id TEXT NOT NULL, serial TEXT NOT NULL, kind TEXT NOT NULL, unit TEXT NOT NULL,
    resolution TEXT NOT NULL, accuracy TEXT NOT NULL, certificate TEXT NOT NULL, calibrated TEXT NOT NULL,
    due TEXT NOT NULL,            -- dates
    PRIMARY KEY (project, id)
) WITHOUT ROWID;

CREATE TABLE uses (               -- of instruments in each report
    path TEXT NOT NULL, instrument TEXT NOT NULL,  -- `id` in `instruments` of the report's project
    serial TEXT NOT NULL,
    area TEXT NOT NULL,           -- empty where it is of all
    purpose TEXT NOT NULL,        -- readings (of the profile), checks (of the gauge), other
    first TEXT NOT NULL, last TEXT NOT NULL,  -- moments in UTC; a date where nothing else is known
    uses INTEGER NOT NULL
);
CREATE INDEX uses_by_path ON uses (path);
CREATE INDEX uses_by_serial ON uses (serial);

CREATE TABLE surfaces (           -- entries of a report: an area blasted by an apparatus
    path TEXT NOT NULL, surface INTEGER NOT NULL,  -- from 1, in the order of the day file
    area TEXT NOT NULL, apparatus TEXT NOT NULL, abrasive TEXT NOT NULL,
    began TEXT NOT NULL, ended TEXT NOT NULL,      -- when it was blasted, in UTC
    coated TEXT,                  -- when, with the offset of the site
    prime_by TEXT NOT NULL,       -- until when bare steel is to be primed, in UTC; empty where it is, or none is stated
    cleaned TEXT NOT NULL,        -- how much, empty for all
    gauge TEXT,                   -- serial
    inspector TEXT NOT NULL,      -- who took the readings, empty for the inspector of the report
    steel TEXT NOT NULL           -- as in `reading_sets`
);
CREATE INDEX surfaces_by_path ON surfaces (path);

CREATE TABLE locations (          -- as evaluated, in the unit of their area
    path TEXT NOT NULL, area TEXT NOT NULL, location TEXT NOT NULL,
    profile TEXT, compared TEXT,  -- as printed; as held against the limits
    uncertainty TEXT,             -- expanded
    verdict TEXT NOT NULL, spots TEXT NOT NULL,    -- numbers with a space between
    apparatus TEXT, abrasive TEXT,
    walk_out TEXT,                -- the failing location that it was measured for
    place TEXT                    -- one for what several reports state of a location on one steel
);
CREATE INDEX locations_by_path ON locations (path, area);

CREATE TABLE reading_sets (       -- readings of one surface in the order taken, as entered
    path TEXT NOT NULL, surface INTEGER NOT NULL,  -- as in `surfaces`
    area TEXT NOT NULL, gauge TEXT, unit TEXT, n INTEGER NOT NULL,
    hash BLOB NOT NULL,           -- first 8 bytes of the SHA-256 of unit and readings
    readings TEXT NOT NULL,       -- numbers with a space between
    steel TEXT NOT NULL,          -- apparatus and times of blasting: one for all entries of it on the area in a contract
    locations TEXT NOT NULL,      -- JSON: the location of each reading
    counted TEXT NOT NULL,        -- those of the readings whose location no later report of that steel states again
    digit TEXT NOT NULL,          -- step of the gauge, of which all readings are whole numbers; empty without a gauge
    steps TEXT NOT NULL,          -- the readings in that step: whole numbers with a space between
    spots TEXT NOT NULL, rolls TEXT NOT NULL, times TEXT NOT NULL  -- JSON: of each reading; moments in UTC, or empty
);
CREATE INDEX reading_sets_by_path ON reading_sets (path);
CREATE INDEX reading_sets_by_hash ON reading_sets (hash);

CREATE TABLE conditions (         -- rows of the conditions as entered
    path TEXT NOT NULL, place TEXT NOT NULL, areas TEXT NOT NULL,  -- JSON; empty list: it does not say which
    at TEXT NOT NULL,             -- moment in UTC
    air TEXT NOT NULL, humidity TEXT NOT NULL, wet_bulb TEXT NOT NULL, steel TEXT NOT NULL,  -- with their units
    instruments TEXT NOT NULL     -- JSON: ids
);
CREATE INDEX conditions_by_path ON conditions (path);

CREATE TABLE photos (
    path TEXT NOT NULL, area TEXT NOT NULL, file TEXT NOT NULL, caption TEXT NOT NULL,
    at TEXT NOT NULL,             -- moment in UTC, empty where not stated
    taken TEXT NOT NULL,          -- as its camera noted, taken for the clock of the site; likewise
    location TEXT NOT NULL,
    original TEXT NOT NULL,       -- SHA-256 of the file that was taken
    look TEXT NOT NULL            -- what is alike where pictures look alike; empty where there is none
);
CREATE INDEX photos_by_path ON photos (path);
CREATE INDEX photos_by_original ON photos (original);

CREATE TABLE scatter (            -- scatter of spots within a location
    path TEXT NOT NULL, gauge TEXT NOT NULL, unit TEXT NOT NULL, dof INTEGER NOT NULL,
    variance TEXT NOT NULL,       -- exact fraction, in the gauge's unit, squared
    step TEXT NOT NULL,           -- to which the readings are rounded, in the gauge's unit
    location TEXT NOT NULL        -- with area and steel: the last report of it is that which counts
);
CREATE INDEX scatter_by_path ON scatter (path);

CREATE TABLE states (             -- each area as it stands after all reports that count
    contract TEXT NOT NULL, area TEXT NOT NULL, decision TEXT NOT NULL,  -- disputed: files that count contradict
    path TEXT NOT NULL,           -- of the report that decides, or the last of those that contradict
    contested TEXT NOT NULL,      -- files that dispute it, and reports that say otherwise and do not count, and what each says: as `told` in `problems`
    open TEXT NOT NULL            -- nonconformances open on it or on no area in particular, likewise; it is not released by then
);
CREATE INDEX states_by_area ON states (contract, area);

CREATE TABLE areas_now (          -- each area that the newest of the best proven project files lists, and those it lists no longer
    contract TEXT NOT NULL, area TEXT NOT NULL, name TEXT NOT NULL, structure TEXT NOT NULL,
    size TEXT NOT NULL, unit TEXT NOT NULL,   -- as in `planned_areas`
    word TEXT NOT NULL            -- released, released in part, coated, hold, rework, disputed, not inspected, no longer listed
);                                -- who decides is in `states`
CREATE INDEX areas_now_by_area ON areas_now (contract, area);

CREATE TABLE numbers_now (        -- what was issued by the newest report, and what of it is not there
    contract TEXT NOT NULL,
    pattern TEXT NOT NULL,        -- of each sequence of numbers one row
    newest TEXT NOT NULL, by TEXT NOT NULL, issued INTEGER NOT NULL, here INTEGER NOT NULL,
    missing TEXT NOT NULL,        -- JSON: numbers; of a register that was given also revisions
    further INTEGER NOT NULL,     -- how many issues more its register can hold: revisions, slips, what came to nothing
    project TEXT NOT NULL,        -- project file that `areas_now` goes by
    PRIMARY KEY (contract, pattern)
) WITHOUT ROWID;

CREATE TABLE problems (
    code TEXT NOT NULL, weight TEXT NOT NULL, contract TEXT NOT NULL, number TEXT NOT NULL, area TEXT NOT NULL,
    sentence TEXT NOT NULL,       -- in English
    told TEXT NOT NULL,           -- JSON: code and facts, of which the sentence is made in any language
    files TEXT NOT NULL,  -- JSON: paths
    verdict TEXT NOT NULL,        -- the worst on the files it rests on
    holds_until TEXT,             -- the first of these to cease
    tests INTEGER,                -- of a screening: how many comparisons, and how many such that chance would give in them
    expected TEXT NOT NULL, effect TEXT NOT NULL, interval TEXT NOT NULL  -- how large what was found is, and surely is
);

CREATE TABLE alike (              -- pairs of surfaces whose readings agree so that fewer than one such pair is due to chance
    path TEXT NOT NULL, area TEXT NOT NULL, other_path TEXT NOT NULL, other_area TEXT NOT NULL,
    how TEXT NOT NULL,            -- as-is, turned, shifted, reordered (locations), run
    agreeing INTEGER NOT NULL, of INTEGER NOT NULL,  -- readings or locations that agree, of how many
    tests INTEGER NOT NULL, expected TEXT NOT NULL  -- pairs compared that are as near, with the ways to agree; such pairs by chance
);

CREATE TABLE screens (            -- what each screen looked at, whether or not it found anything
    name TEXT NOT NULL, contract TEXT NOT NULL,
    tests INTEGER NOT NULL, level TEXT NOT NULL,  -- of the false alarms that all of them together may give
    expected TEXT NOT NULL,       -- such findings by chance
    found INTEGER NOT NULL,
    unseen TEXT NOT NULL          -- what it could not have seen: as `told` in `problems`
);
