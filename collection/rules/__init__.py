"""The rules: from facts and a proposal to findings, losses and requirements. They yield, never raise."""
