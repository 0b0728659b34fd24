-- From version 4 to 5: a recipe keeps the name that its id is made of.

alter table recipes add column first_called text not null default '';
