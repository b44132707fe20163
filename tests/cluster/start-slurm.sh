#!/usr/bin/env bash
# A real Slurm on one machine, for tests: controller and one node, as root, from Debian's packages (slurm-wlm, munge).
# Usage: . start-slurm.sh FOLDER; it exports SLURM_CONF. Stop it with stop_slurm.
slurm_folder=$(mkdir -p "$1" && cd "$1" && pwd)
slurm_node=$(hostname -s)
mkdir -p "$slurm_folder/state" "$slurm_folder/spool" "$slurm_folder/log"
cat >"$slurm_folder/slurm.conf" <<CONF
ClusterName=test
SlurmctldHost=$slurm_node(127.0.0.1)
SlurmUser=root
SlurmdUser=root
AuthType=auth/munge
CryptoType=crypto/munge
ProctrackType=proctrack/linuxproc
TaskPlugin=task/none
SchedulerType=sched/backfill
SelectType=select/cons_tres
SelectTypeParameters=CR_Core
ReturnToService=2
MpiDefault=none
SlurmctldPidFile=$slurm_folder/controller.pid
SlurmdPidFile=$slurm_folder/node.pid
SlurmdSpoolDir=$slurm_folder/spool
StateSaveLocation=$slurm_folder/state
SlurmctldLogFile=$slurm_folder/log/controller
SlurmdLogFile=$slurm_folder/log/node
AccountingStorageType=accounting_storage/none
JobAcctGatherType=jobacct_gather/none
NodeName=$slurm_node NodeAddr=127.0.0.1 CPUs=$(nproc) State=UNKNOWN
PartitionName=all Nodes=$slurm_node Default=YES MaxTime=INFINITE State=UP
CONF
mkdir -p /run/munge && chown munge:munge /run/munge
munge -n >/dev/null 2>&1 || {
  runuser -u munge -- /usr/sbin/munged
  slurm_munged=$(pgrep -n -x munged)
}
export SLURM_CONF=$slurm_folder/slurm.conf
slurmctld -D >"$slurm_folder/log/controller.out" 2>&1 &
slurm_controller=$!
sleep 2
slurmd -D >"$slurm_folder/log/node.out" 2>&1 &
slurm_daemon=$!
for _ in $(seq 30); do
  sinfo -h -o %T 2>/dev/null | grep -q idle && break
  sleep 1
done
stop_slurm() { kill "$slurm_daemon" "$slurm_controller" ${slurm_munged:+"$slurm_munged"} 2>/dev/null || true; }
