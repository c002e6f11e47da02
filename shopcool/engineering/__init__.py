"""The computations of the job: pure functions of SI floats, one module per question.

No module here knows Django or the database. Each orchestration function returns a frozen result that carries
its inputs, verdict code, warnings, source and method version; a question that can't be answered raises
:class:`shopcool.engineering.errors.Refusal`.
"""
