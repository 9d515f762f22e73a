# SPDX-License-Identifier: BSD-3-Clause
"""The campaign's page says what its record says."""

import json

import campaign


def test_page_is_written_from_its_record():
    record = json.loads(campaign.RECORD.read_text(encoding="utf-8"))
    assert campaign.PAGE.read_text(encoding="utf-8") == campaign.page(record)
    for clinical in record["strata"]["clinical"]:
        assert sum(clinical["ends"].values()) == clinical["eyes"] >= 300
        assert len(clinical["not_completed"]) == clinical["eyes"] - clinical["ends"]["completed"]
