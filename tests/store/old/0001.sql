BEGIN TRANSACTION;
CREATE TABLE alembic_version (
	version_num VARCHAR(32) NOT NULL, 
	CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num)
);
INSERT INTO "alembic_version" VALUES('0001');
CREATE TABLE jobs (
	id VARCHAR(40) NOT NULL, 
	name VARCHAR(120) NOT NULL, 
	client VARCHAR(120) NOT NULL, 
	head INTEGER NOT NULL, 
	tip INTEGER NOT NULL, 
	last INTEGER NOT NULL, 
	made_at DATETIME NOT NULL, 
	changed_at DATETIME NOT NULL, 
	archived_at DATETIME, 
	CONSTRAINT pk_jobs PRIMARY KEY (id)
);
INSERT INTO "jobs" VALUES('shelf','Shelf','',2,3,3,'2026-11-25 12:39:21.444543','2026-11-25 12:39:21.465460',NULL);
INSERT INTO "jobs" VALUES('sill','Sill','',1,1,1,'2026-11-25 12:39:21.472593','2026-11-25 12:39:21.472593','2026-11-25 12:39:21.477478');
CREATE TABLE kept (
	"key" VARCHAR(64) NOT NULL, 
	name VARCHAR(120) NOT NULL, 
	job_id VARCHAR(40) NOT NULL, 
	revision INTEGER NOT NULL, 
	media VARCHAR(80) NOT NULL, 
	body BLOB NOT NULL, 
	at DATETIME NOT NULL, 
	CONSTRAINT pk_kept PRIMARY KEY ("key", name), 
	CONSTRAINT fk_kept_job_id_jobs FOREIGN KEY(job_id) REFERENCES jobs (id)
);
INSERT INTO "kept" VALUES('kkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkk','plan','shelf',2,'application/json',X'785EAB564A49AC2C56B28A8EAD0500170F03E0','2026-11-25 12:39:21.529377');
CREATE TABLE links (
	sha256 VARCHAR(64) NOT NULL, 
	job_id VARCHAR(40) NOT NULL, 
	revision INTEGER NOT NULL, 
	made_at DATETIME NOT NULL, 
	ends_at DATETIME NOT NULL, 
	closed_at DATETIME, 
	signed_name VARCHAR(120), 
	signed_date VARCHAR(10), 
	signed_at DATETIME, 
	CONSTRAINT pk_links PRIMARY KEY (sha256), 
	CONSTRAINT fk_links_job_id_jobs FOREIGN KEY(job_id) REFERENCES jobs (id)
);
INSERT INTO "links" VALUES('a81216c4d519a4817d2a69fe4aafecbc857cf86a876bd5f08c1af36b8a77e13d','shelf',2,'2026-11-25 12:39:21.545106','2026-12-25 12:39:21.545110',NULL,'Ben Example','2027-03-20','2026-11-25 12:39:21.549812');
CREATE TABLE log (
	id INTEGER NOT NULL, 
	job_id VARCHAR(40) NOT NULL, 
	at DATETIME NOT NULL, 
	who VARCHAR(80) NOT NULL, 
	kind VARCHAR(40) NOT NULL, 
	text TEXT NOT NULL, 
	data JSON NOT NULL, 
	mark VARCHAR(80), 
	CONSTRAINT pk_log PRIMARY KEY (id), 
	CONSTRAINT fk_log_job_id_jobs FOREIGN KEY(job_id) REFERENCES jobs (id), 
	CONSTRAINT uq_log_mark UNIQUE (mark)
);
INSERT INTO "log" VALUES(1,'shelf','2026-11-25 12:39:21.465387','Ann','undo','undo: revision 3 to 2','{"from": 3, "to": 2}',NULL);
INSERT INTO "log" VALUES(2,'sill','2026-11-25 12:39:21.477491','Ann','job','put away','{}',NULL);
INSERT INTO "log" VALUES(3,'shelf','2026-11-25 12:39:21.481674','Ann','note','Stove lit at seven.','{"a": 1}','mark-1');
INSERT INTO "log" VALUES(4,'shelf','2026-11-25 12:39:21.484867','Ann','note','No mark.','{}',NULL);
INSERT INTO "log" VALUES(5,'shelf','2026-11-25 12:39:21.488846','Ann','note','Another without a mark.','{}',NULL);
INSERT INTO "log" VALUES(6,'shelf','2026-11-25 12:39:21.498119','Ann','tick','ticked: cup:colour/S1A','{"key": "cup:colour/S1A", "on": true}',NULL);
INSERT INTO "log" VALUES(7,'shelf','2026-11-25 12:39:21.504864','Ann','step','done: colour-mix-1','{"step": "colour-mix-1", "start_s": 36000.0, "finish_s": 36600.0}',NULL);
INSERT INTO "log" VALUES(8,'shelf','2026-11-25 12:39:21.512812','Ann','step','done: colour-mix-1','{"step": "colour-mix-1", "start_s": 36000.0, "finish_s": 36900.0}',NULL);
INSERT INTO "log" VALUES(9,'shelf','2026-11-25 12:39:21.545179','Ann','client','client link made for revision 2','{}',NULL);
INSERT INTO "log" VALUES(10,'shelf','2026-11-25 12:39:21.549831','Ben Example','client','revision 2 signed off by Ben Example, 2027-03-20','{"revision": 2, "name": "Ben Example", "date": "2027-03-20"}',NULL);
CREATE TABLE pictures (
	name VARCHAR(60) NOT NULL, 
	job_id VARCHAR(40) NOT NULL, 
	revision INTEGER NOT NULL, 
	scene VARCHAR(120) NOT NULL, 
	sort VARCHAR(20) NOT NULL, 
	seed INTEGER NOT NULL, 
	words TEXT NOT NULL, 
	wide INTEGER NOT NULL, 
	high INTEGER NOT NULL, 
	about JSON NOT NULL, 
	png BLOB NOT NULL, 
	small BLOB NOT NULL, 
	at DATETIME NOT NULL, 
	CONSTRAINT pk_pictures PRIMARY KEY (name), 
	CONSTRAINT fk_pictures_job_id_jobs FOREIGN KEY(job_id) REFERENCES jobs (id)
);
INSERT INTO "pictures" VALUES('p-1','shelf',2,'top','sheet',1,'',8,6,'{}',X'89504E470D0A1A0A0000000D4948445200000008000000060802000000716748AC0000001449444154789C633C5161C3800D306115A5930400E056018837B576C80000000049454E44AE426082',X'89504E470D0A1A0A0000000D4948445200000008000000060802000000716748AC0000001449444154789C633C5161C3800D306115A5930400E056018837B576C80000000049454E44AE426082','2026-11-25 12:39:21.521845');
CREATE TABLE revisions (
	job_id VARCHAR(40) NOT NULL, 
	number INTEGER NOT NULL, 
	parent INTEGER, 
	document TEXT NOT NULL, 
	files TEXT NOT NULL, 
	sha256 VARCHAR(64) NOT NULL, 
	who VARCHAR(80) NOT NULL, 
	why VARCHAR(200) NOT NULL, 
	at DATETIME NOT NULL, 
	CONSTRAINT pk_revisions PRIMARY KEY (job_id, number), 
	CONSTRAINT fk_revisions_job_id_parent_revisions FOREIGN KEY(job_id, parent) REFERENCES revisions (job_id, number), 
	CONSTRAINT fk_revisions_job_id_jobs FOREIGN KEY(job_id) REFERENCES jobs (id)
);
INSERT INTO "revisions" VALUES('shelf',1,NULL,'{"schema":1,"name":"Shelf","client":"","revision":1,"seed":1,"show":{"units":"metric","currency":"EUR","paper":"a4"},"site":{"kind":"building","start":"2027-03-15","hours":{"from":"08:00","to":"17:00","weekdays":["mon","tue","wed","thu","fri"]},"air":{"coolest":"17 degC","warmest":"22 degC","humidity":"55 %"}},"core":{"material":"mdf-moisture","thickness":"18 mm"},"surfaces":[{"name":"top","size":["1800 mm","600 mm"],"edges":{"front":{"kind":"free","round_over":"6 mm","drop":"40 mm"},"left":{"kind":"free","round_over":"6 mm","drop":"40 mm"},"right":{"kind":"free","round_over":"6 mm","drop":"40 mm"},"back":{"kind":"wall"}}},{"name":"board","purpose":"board","size":["250 mm","300 mm"],"other_edges":{"kind":"free","round_over":"6 mm","drop":"18 mm"}}],"primer":{"material":"primer-acrylic-dark","coats":2},"colour":{"resin":"resin-colour-1to1-uv","film":"1 L/m2","shades":[{"shade":"sea-green","share":"65 %"},{"shade":"slate","share":"35 %"}]},"flood":{"resin":"resin-coating-1to1","film":"1.2 L/m2"},"mix":{"risk":"5 %","crew":{"people":2},"cups":{"vessel":"1 L"}}}','{}','4e82bff45865d1f4b50e6e2b2adac51d5c01ce24fc74012a0c610e6f2efe1d2c','Ann','new job','2026-11-25 12:39:21.445645');
INSERT INTO "revisions" VALUES('shelf',2,1,'{"schema":1,"name":"Shelf","client":"","revision":2,"seed":1,"show":{"units":"metric","currency":"EUR","paper":"a4"},"site":{"kind":"building","start":"2027-03-15","hours":{"from":"08:00","to":"17:00","weekdays":["mon","tue","wed","thu","fri"]},"air":{"coolest":"17 degC","warmest":"22 degC","humidity":"55 %"}},"core":{"material":"mdf-moisture","thickness":"18 mm"},"surfaces":[{"name":"top","size":["1800 mm","600 mm"],"edges":{"front":{"kind":"free","round_over":"6 mm","drop":"40 mm"},"left":{"kind":"free","round_over":"6 mm","drop":"40 mm"},"right":{"kind":"free","round_over":"6 mm","drop":"40 mm"},"back":{"kind":"wall"}}},{"name":"board","purpose":"board","size":["250 mm","300 mm"],"other_edges":{"kind":"free","round_over":"6 mm","drop":"18 mm"}}],"primer":{"material":"primer-acrylic-dark","coats":2},"colour":{"resin":"resin-colour-1to1-uv","film":"1 L/m2","shades":[{"shade":"sea-green","share":"65 %"},{"shade":"slate","share":"35 %"}]},"flood":{"resin":"resin-coating-1to1","film":"1.2 L/m2"},"mix":{"risk":"5 %","crew":{"people":2},"cups":{"vessel":"1 L"}},"about":"first try"}','{}','1d84d9e4e665c4583accb7c62d0bba4a9f286c31a50202077f91fb4432d56ced','Ann','about','2026-11-25 12:39:21.453216');
INSERT INTO "revisions" VALUES('shelf',3,2,'{"schema":1,"name":"Shelf","client":"","revision":3,"seed":1,"show":{"units":"metric","currency":"EUR","paper":"a4"},"site":{"kind":"building","start":"2027-03-15","hours":{"from":"08:00","to":"17:00","weekdays":["mon","tue","wed","thu","fri"]},"air":{"coolest":"17 degC","warmest":"22 degC","humidity":"55 %"}},"core":{"material":"mdf-moisture","thickness":"18 mm"},"surfaces":[{"name":"top","size":["1800 mm","600 mm"],"edges":{"front":{"kind":"free","round_over":"6 mm","drop":"40 mm"},"left":{"kind":"free","round_over":"6 mm","drop":"40 mm"},"right":{"kind":"free","round_over":"6 mm","drop":"40 mm"},"back":{"kind":"wall"}}},{"name":"board","purpose":"board","size":["250 mm","300 mm"],"other_edges":{"kind":"free","round_over":"6 mm","drop":"18 mm"}}],"primer":{"material":"primer-acrylic-dark","coats":2},"colour":{"resin":"resin-colour-1to1-uv","film":"1 L/m2","shades":[{"shade":"sea-green","share":"65 %"},{"shade":"slate","share":"35 %"}]},"flood":{"resin":"resin-coating-1to1","film":"1.2 L/m2"},"mix":{"risk":"5 %","crew":{"people":2},"cups":{"vessel":"1 L"}},"about":"second try"}','{}','1421baa4c2ed2ea545e92472774a65d50d5660fc93b9ab0530909bf19d8b7d60','Ann','about','2026-11-25 12:39:21.458466');
INSERT INTO "revisions" VALUES('sill',1,NULL,'{"schema":1,"name":"Sill","client":"","revision":1,"seed":1,"show":{"units":"metric","currency":"EUR","paper":"a4"},"site":{"kind":"building","start":"2027-03-15","hours":{"from":"08:00","to":"17:00","weekdays":["mon","tue","wed","thu","fri"]},"air":{"coolest":"17 degC","warmest":"22 degC","humidity":"55 %"}},"core":{"material":"mdf-moisture","thickness":"18 mm"},"surfaces":[{"name":"top","size":["1800 mm","600 mm"],"edges":{"front":{"kind":"free","round_over":"6 mm","drop":"40 mm"},"left":{"kind":"free","round_over":"6 mm","drop":"40 mm"},"right":{"kind":"free","round_over":"6 mm","drop":"40 mm"},"back":{"kind":"wall"}}},{"name":"board","purpose":"board","size":["250 mm","300 mm"],"other_edges":{"kind":"free","round_over":"6 mm","drop":"18 mm"}}],"primer":{"material":"primer-acrylic-dark","coats":2},"colour":{"resin":"resin-colour-1to1-uv","film":"1 L/m2","shades":[{"shade":"sea-green","share":"65 %"},{"shade":"slate","share":"35 %"}]},"flood":{"resin":"resin-coating-1to1","film":"1.2 L/m2"},"mix":{"risk":"5 %","crew":{"people":2},"cups":{"vessel":"1 L"}}}','{}','eaeaf400421a606762dbab81961313229950b7960b98196f360e7bff9366e34a','Ann','new job','2026-11-25 12:39:21.472962');
CREATE TABLE settings (
	"key" VARCHAR(60) NOT NULL, 
	value JSON NOT NULL, 
	CONSTRAINT pk_settings PRIMARY KEY ("key")
);
INSERT INTO "settings" VALUES('units','"us"');
CREATE TABLE steps_done (
	id INTEGER NOT NULL, 
	job_id VARCHAR(40) NOT NULL, 
	step VARCHAR(120) NOT NULL, 
	start_s FLOAT NOT NULL, 
	finish_s FLOAT NOT NULL, 
	who VARCHAR(80) NOT NULL, 
	at DATETIME NOT NULL, 
	taken_back_at DATETIME, 
	CONSTRAINT pk_steps_done PRIMARY KEY (id), 
	CONSTRAINT fk_steps_done_job_id_jobs FOREIGN KEY(job_id) REFERENCES jobs (id)
);
INSERT INTO "steps_done" VALUES(1,'shelf','colour-mix-1',36000.0,36600.0,'Ann','2026-11-25 12:39:21.504864','2026-11-25 12:39:21.512812');
INSERT INTO "steps_done" VALUES(2,'shelf','colour-mix-1',36000.0,36900.0,'Ann','2026-11-25 12:39:21.512812',NULL);
CREATE TABLE tasks (
	id VARCHAR(40) NOT NULL, 
	job_id VARCHAR(40) NOT NULL, 
	revision INTEGER NOT NULL, 
	lane VARCHAR(20) NOT NULL, 
	kind VARCHAR(20) NOT NULL, 
	"key" VARCHAR(64) NOT NULL, 
	wants JSON NOT NULL, 
	state VARCHAR(12) NOT NULL, 
	share FLOAT NOT NULL, 
	words VARCHAR(200) NOT NULL, 
	result JSON, 
	error JSON, 
	attempts INTEGER NOT NULL, 
	worker VARCHAR(60) NOT NULL, 
	pid INTEGER, 
	heartbeat DATETIME, 
	stop_asked BOOLEAN NOT NULL, 
	who VARCHAR(80) NOT NULL, 
	made_at DATETIME NOT NULL, 
	ended_at DATETIME, 
	CONSTRAINT pk_tasks PRIMARY KEY (id), 
	CONSTRAINT fk_tasks_job_id_jobs FOREIGN KEY(job_id) REFERENCES jobs (id)
);
INSERT INTO "tasks" VALUES('rw98jmhx6cqya7bz','shelf',2,'picture','picture','kkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkkk','{"seeds": []}','waiting',0.0,'waiting',NULL,NULL,0,'',NULL,NULL,0,'Ann','2026-11-25 12:39:21.539227',NULL);
CREATE TABLE ticks (
	job_id VARCHAR(40) NOT NULL, 
	"key" VARCHAR(160) NOT NULL, 
	who VARCHAR(80) NOT NULL, 
	at DATETIME NOT NULL, 
	CONSTRAINT pk_ticks PRIMARY KEY (job_id, "key"), 
	CONSTRAINT fk_ticks_job_id_jobs FOREIGN KEY(job_id) REFERENCES jobs (id)
);
INSERT INTO "ticks" VALUES('shelf','cup:colour/S1A','Ann','2026-11-25 12:39:21.498058');
CREATE INDEX ix_kept_job_id ON kept (job_id);
CREATE INDEX ix_links_job_id ON links (job_id);
CREATE INDEX ix_log_job_id ON log (job_id);
CREATE INDEX ix_pictures_job_id ON pictures (job_id);
CREATE INDEX ix_steps_done_job_id ON steps_done (job_id);
CREATE INDEX ix_tasks_job_id ON tasks (job_id);
CREATE INDEX ix_tasks_key ON tasks ("key");
CREATE INDEX ix_tasks_turn ON tasks (state, lane, made_at);
COMMIT;
