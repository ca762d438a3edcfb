"""One vocabulary: what each word means, and how each number is computed. Pure text that knows nothing of Django.

``terms`` holds the glossary, ``methods`` the computed numbers. Pages draw both, and lead to them with ``{% how %}`` and
``|term`` of the template tags ``parts``. A method's formulas are its template in ``checks/templates/checks/methods``.
"""
