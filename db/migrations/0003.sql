-- From version 2 to 3: by which paragraph of Food Code 3-501.14 a cooling log is judged, and goods that cool as they came;
-- a step of a cooking programme that runs from one temperature to another. 0002.sql says how such a file is made.

alter table cooling_readings add column rule text not null default '' check (rule in ('', 'cooked', 'ambient', 'received'));
alter table cooling_readings add column item_id text;
alter table cooking_steps add column end_f real;
alter table cooking_steps add column end_c real;
