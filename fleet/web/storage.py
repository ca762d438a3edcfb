"""Static files under names that carry their content, also where one of our scripts imports another."""

from django.contrib.staticfiles.storage import HashedFilesMixin, ManifestStaticFilesStorage
from whitenoise.storage import CompressedManifestStaticFilesStorage  # type: ignore[import-untyped]

# Scripts of others are left as they are: what looks like an import in them need not be one.
OURS = "checks/tablet/*.js"
IMPORTS = HashedFilesMixin._js_module_import_aggregation_patterns[1]  # type: ignore[attr-defined]
# A script's name depends on those of the scripts that it imports, so names settle from the innermost outwards.
PASSES = 12


class ModuleStorage(ManifestStaticFilesStorage):
    """For one person's machine."""

    max_post_process_passes = PASSES
    patterns = (*ManifestStaticFilesStorage.patterns, (OURS, IMPORTS))


class CompressedModuleStorage(CompressedManifestStaticFilesStorage):
    """For a deployment: compressed copies, and only under the names that carry the content."""

    max_post_process_passes = PASSES
    patterns = (*CompressedManifestStaticFilesStorage.patterns, (OURS, IMPORTS))
