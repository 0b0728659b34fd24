-- From version 3 to 4: a version of a trial may say what its dish is called from then on.

alter table trial_versions add column name text not null default '';
