-- From version 4 to 5: when food that was not cooked was made or came in, where that was before its first reading.

alter table cooling_readings add column started_at text;
