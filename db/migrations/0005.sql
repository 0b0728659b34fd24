-- From version 4 to 5: when food that was not cooked was made or came in, where that was before its first reading; how a
-- piece was worked before it is cooked, and so under which minimum it stands.

alter table cooling_readings add column started_at text;
alter table pieces add column worked text not null default '' check (worked in ('', 'intact', 'injected', 'minced', 'stuffed'));
