"""What a mechanic needs at the bench for what is opened: torques, the setting of the wrench, compounds, advice."""
