-- Published figures that ship with stillroom. A load replaces them with the files in db/reference.
-- basis: 'read', 'read-excerpt', 'read-secondary' = seen in the source named; 'memory' = not seen, shown as such;
-- 'common practice' = trade habit without a source.

create table sources (
    id text primary key,
    title text not null,
    level text not null                          -- how much of it was read
) strict;

create table allergens (
    id text primary key,                         -- 'milk', 'walnut', 'cod'
    name text not null unique,                   -- as said at the table
    parent_id text references allergens (id),         -- 'cod' -> 'fish'; null for the top of a group
    also_called text not null default '',        -- other words, separated by ';'
    position integer not null,                   -- order on the guest page
    source text not null,
    basis text not null
) strict;

create table allergen_regimes (
    regime text not null,                        -- 'US', 'EU', 'UK', 'CA', 'ANZ', 'CODEX_2024', 'CODEX_1999'
    code text not null,                          -- the regime's group, 'tree_nut'
    name text not null,
    is_listed integer not null check (is_listed in (0, 1)),  -- 1: must be declared as an allergen; 0: optional or another rule
    covers text not null,
    threshold text not null,
    exemptions text not null,
    source text not null,
    basis text not null,
    primary key (regime, code)
) strict;

create table allergen_groups (                   -- which allergens a regime's group takes in
    regime text not null,
    code text not null,
    allergen_id text not null references allergens (id),
    primary key (regime, code, allergen_id),
    foreign key (regime, code) references allergen_regimes (regime, code)
) strict;

create table label_words (                       -- words on a label that point to an allergen: a suggestion, never a declaration
    id integer primary key,
    word text not null,                          -- lower case, accents folded
    allergen_id text not null references allergens (id),
    presence text not null check (presence in ('contains', 'may contain')),
    why text not null,
    source text not null,
    basis text not null
) strict;

create table cooking_minimums (
    id text primary key,
    food_class text not null,
    min_temp_f real,                             -- °F, core
    hold_seconds real,                           -- s at min_temp_f
    edition text not null,
    section text not null,
    note text not null,
    basis text not null,
    source_id text not null
) strict;

create table holding_rules (                     -- receiving, holding, cooling, dating
    id text primary key,
    rule text not null,
    temp_f real,                                 -- °F
    time_seconds real,                           -- s
    direction text not null,                     -- 'at most', 'at least', 'method', ...
    edition text not null,
    section text not null,
    note text not null,
    basis text not null,
    source_id text not null
) strict;

create table lethality (
    id integer primary key,
    product text not null,                       -- 'meat', 'poultry', 'patties'
    species text not null default '',
    fat_pct real,                                -- 0 to 100
    temp_f real not null,                        -- °F, core
    time_s real not null,                        -- s
    target text not null,                        -- '6.5 log', '7 log', '5 log'
    operator text not null default '=',
    edition text not null,
    basis text not null,
    source_id text not null,
    note text not null
) strict;

create table doneness_bands (
    id text primary key,
    food text not null,
    band text not null,
    low_f real,                                  -- °F
    high_f real,                                 -- °F
    kind text not null,
    basis text not null,
    source_id text not null,
    note text not null
) strict;

create table pathogens (
    id text primary key,
    organism text not null,
    matrix text not null,
    quantity text not null,                      -- 'D', 'z', 'min growth', ...
    temp_c real,                                 -- °C
    value text not null,                         -- as printed: a number or a range, in unit
    unit text not null,
    z_c text not null,                           -- K, as printed
    basis text not null,
    source_id text not null,
    note text not null
) strict;

create table thermal_properties (
    id text primary key,
    kind text not null,
    food_or_component text not null,
    property text not null,
    unit text not null,
    value_low real,
    value_high real,
    a0 real,
    a1 real,
    a2 real,
    temp_min_c real,                             -- °C
    temp_max_c real,                             -- °C
    water_pct real,                              -- 0 to 100
    basis text not null,
    source_id text not null,
    note text not null
) strict;

create table reference_yields (
    id integer primary key,
    food text not null,
    form text not null,
    yield_pct real,                              -- 0 to 100
    process text not null,
    ndb_no text not null,
    source text not null,
    place text not null,
    basis text not null,
    note text not null
) strict;

create table reference_densities (
    id integer primary key,
    food text not null,
    ndb_no text not null,
    g_per_us_cup text,                           -- exact text, g
    g_per_tbsp text,
    g_per_tsp text,
    g_per_fl_oz text,
    g_each text,
    each_measure text not null,
    check_note text not null,
    source text not null,
    basis text not null
) strict;

create table reference_cuts (
    id integer primary key,
    species text not null,
    imps_no text not null,
    name text not null,
    kind text not null,
    weight_range_lb_a text not null,             -- lb, 'low-high' as printed
    weight_range_lb_b text not null,
    weight_range_lb_c text not null,
    weight_range_lb_d text not null,
    fab_amount text not null,
    fab_share text not null,
    source text not null,
    basis text not null,
    note text not null
) strict;
