"""Work of the checks that takes longer than a page: each resumes after its last committed chunk.

`checks/apps.py` names every function here, and a worker loads its file with its first job.
"""
