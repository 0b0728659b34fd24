-- From version 4 to 5: a tick of a cut knows what breakdowns of its day had given before it; what came of one is found by its code.

alter table task_ticks add column cut_before text;
create index if not exists breakdowns_day on breakdowns (broken_on);
create index if not exists breakdown_outputs_code on breakdown_outputs (breakdown_code);
