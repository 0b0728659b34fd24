-- From version 4 to 5: when food that was not cooked was made or came in, where that was before its first reading.

alter table cooling_readings add column started_at text;

-- From version 4 to 5: why the seven days of the date mark don't apply to a recipe. 0002.sql says how such a file is made.

alter table recipes add column no_date_mark text not null default '';
